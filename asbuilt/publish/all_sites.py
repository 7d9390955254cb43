"""Every site of a records repository at once: what `mkdocs build` and `mkdocs serve` publish."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from asbuilt.io.files import choose_sites
from asbuilt.io.graphviz import drawings_of
from asbuilt.io.transaction import locked_for_reading
from asbuilt.pages.fleet_index import SEARCH_SCRIPT_PATH, search_script
from asbuilt.pages.page import Asset
from asbuilt.pages.page_drawings import RenderDot
from asbuilt.pages.site_summary import summary_in
from asbuilt.problem import Problem
from asbuilt.publish.assemble import assemble_site, output_of
from asbuilt.publish.fleet import front_of
from asbuilt.publish.histories import SiteHistory, site_histories
from asbuilt.publish.load import LoadedSite, SiteLoader
from asbuilt.publish.site_output import SiteOutput
from asbuilt.records.edition import Edition


@dataclass(frozen=True, slots=True)
class AllSitesOutput:
    front: SiteOutput | None
    volumes: tuple[SiteOutput, ...]
    problems: tuple[Problem, ...]
    broken: tuple[str, ...]

    def digests(self) -> Mapping[str, bytes]:
        """By path over all sites, what tells one state of a page or file from another. All share
        one navigation."""
        every = [(f"{volume.key}/", volume) for volume in self.volumes]
        every += [("", self.front)] if self.front else []
        titles = [(volume.name, volume.titles()) for _, volume in every]
        shared = hashlib.sha256(repr(titles).encode()).digest()
        return {
            folder + path: shared + digest
            for folder, volume in every
            for path, digest in volume.digests().items()
        }


class AllSites:
    """Every site of a records repository as volumes, for engineers; those of sites that are as
    they were are kept from one time to the next."""

    def __init__(self, draw: RenderDot = drawings_of) -> None:
        self._draw = draw
        self._reader = SiteLoader(ready=True)
        self._known: dict[str, tuple[LoadedSite, SiteHistory, SiteOutput]] = {}

    def volumes(self, top: Path) -> AllSitesOutput:
        with locked_for_reading(top):
            readings = [self._reader.read(top, key) for key in choose_sites(top, ())]
            problems = tuple(problem for reading in readings for problem in reading.problems)
            broken = tuple(reading.key for reading in readings if not reading.sound)
            if broken:
                return AllSitesOutput(None, (), problems, broken)
            by_key = {reading.key: reading for reading in readings}
            pasts = site_histories(top, list(by_key), Edition.INTERNAL, by_key.__getitem__)
            made = tuple(self._volume(top, by_key[key], pasts[key]) for key in by_key)
        overviews = [summary_in(volume.tree) for volume in made]
        summaries = [summary for summary, _ in overviews]
        finds = {summary.key: found for summary, found in overviews}
        script = Asset(SEARCH_SCRIPT_PATH, b"".join(search_script(summaries, finds.__getitem__)))
        return AllSitesOutput(front_of(summaries, script), made, problems, ())

    def _volume(self, top: Path, reading: LoadedSite, past: SiteHistory) -> SiteOutput:
        known = self._known.get(reading.key)
        if known is None or known[0] is not reading or known[1] != past:
            volume = output_of(assemble_site(top, reading, Edition.INTERNAL, past), self._draw)
            known = self._known[reading.key] = reading, past, volume
        return known[2]
