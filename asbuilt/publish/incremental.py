"""A published folder kept up to date while somebody works on the records."""

from __future__ import annotations

import hashlib
from collections.abc import Iterable
from dataclasses import replace
from functools import partial
from pathlib import Path

from asbuilt.io import git
from asbuilt.io.files import SITES, choose_sites, read_site_files, stamps_of
from asbuilt.io.graphviz import drawings_of
from asbuilt.io.graphviz import engine as engine_of
from asbuilt.io.swap import exclusive_output
from asbuilt.io.transaction import locked_for_reading
from asbuilt.io.workers import in_parallel, worker_crash_as_error
from asbuilt.pages.page_drawings import RenderDot
from asbuilt.problem import Problem
from asbuilt.publish.build import BuildSettings, Built, broken_sites, build_sites, preloaded_modules
from asbuilt.publish.fleet import publish_front
from asbuilt.publish.histories import SiteHistory, site_histories
from asbuilt.publish.load import load_site
from asbuilt.publish.manifest import versions
from asbuilt.publish.output_folder import claim_folder, remove_gone_sites
from asbuilt.publish.site_output import Publish
from asbuilt.records.edition import Edition


class IncrementalBuild:
    """A published folder that is kept up to date while somebody works on the records: each
    `update` makes rebuild, of the sites that have changed since the last, the pages that have."""

    def __init__(
        self,
        top: Path,
        output: Path,
        publish: Publish,
        sites: Iterable[str] = (),
        draw: RenderDot = drawings_of,
    ) -> None:
        self.top = top
        self.output = output
        self._sites = tuple(sites)
        self._states: dict[str, tuple[object, SiteHistory]] = {}
        self._built: dict[str, Built] = {}
        self._job = BuildSettings(
            top, output, Edition.INTERNAL, publish, draw, versions(engine_of()), None,
            revision="work in hand",
        )  # fmt: skip

    @property
    def records(self) -> Path:
        return self.top / SITES

    def update(self) -> tuple[Built, ...]:
        """What was built just now."""
        keys = choose_sites(self.top, self._sites)
        pasts = site_histories(self.top, keys, Edition.INTERNAL, partial(load_site, self.top))
        states = {key: (_files_of(self.top, key), pasts[key]) for key in keys}
        changed = [key for key in keys if self._states.get(key) != states[key]]
        gone = self._built.keys() - set(keys)
        self._built = {key: self._built[key] for key in keys if key in self._built}
        if changed or gone:
            with (
                locked_for_reading(self.top),
                exclusive_output(self.output),
                worker_crash_as_error(),
                in_parallel(None, preloaded_modules(self._job.publish)) as each,
            ):
                claim_folder(self.output, Edition.INTERNAL)
                before = {key: built.parts for key, built in self._built.items()}
                now = {key: pasts[key] for key in changed}
                for built in build_sites(self._job, now, each, before):
                    kept = self._built.get(built.key)
                    parts = built.parts or (kept.parts if kept else {})
                    self._built[built.key] = replace(built, parts=parts)
                if not self._sites:
                    remove_gone_sites(self.output, keys)
                    broken = broken_sites(self.top, (self._built[key] for key in keys))
                    publish_front(self.output, self._job.publish, keys, broken, self._job.versions)
        self._states = states
        return tuple(self._built[key] for key in changed)

    def problems(self) -> tuple[Problem, ...]:
        return tuple(problem for built in self._built.values() for problem in built.problems)


def _files_of(top: Path, key: str) -> object:
    """What tells one state of a site's files from another."""
    found = read_site_files(top, key)
    digest = hashlib.sha256(repr(sorted(stamps_of(found.assets).items())).encode())
    for path in sorted(found.texts):
        digest.update(f"{path}\0{len(found.texts[path])}\0".encode() + found.texts[path])
    return digest.digest(), found.problems


def watched_files(top: Path) -> tuple[Path, ...]:
    """What a server should watch besides the records: where git notes each commit."""
    above = git.top_of(top)
    log = git.head_log(above) if above else None
    return (log,) if log and log.is_file() else ()
