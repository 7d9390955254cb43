"""Which photos there are to show: those with records of their own, and those findings name."""

from __future__ import annotations

from asbuilt.model.site import Site
from asbuilt.records.photos import Photo
from asbuilt.records.work import Finding


def photos_on_record(site: Site) -> dict[str, Photo]:
    """By key. A file a finding names shows it as it was found, on the day and in the place of the
    finding, unless a photo's record tells of that file and finding itself."""
    found = dict(site.photos)
    told = {(photo.file, photo.finding) for photo in site.photos.values()}
    taken = {key.casefold() for key in found}
    for finding in site.findings.values():
        if finding.photo and (finding.photo, finding.key) not in told:
            photo = _photo_of_finding(finding, _unused_key(f"finding-{finding.key}", taken))
            found[photo.key] = photo
    return found


def _photo_of_finding(finding: Finding, key: str) -> Photo:
    return Photo(
        key=key,
        raw=finding.raw,
        file=finding.photo,
        what=finding.what,
        shows="as found",
        taken=finding.found_on,
        by=finding.found_by,
        room=finding.room,
        enclosure=finding.enclosure,
        finding=finding.key,
    )


def _unused_key(key: str, taken: set[str]) -> str:
    """Keys are file names, so case doesn't tell them apart."""
    while key.casefold() in taken:
        key += "-"
    taken.add(key.casefold())
    return key
