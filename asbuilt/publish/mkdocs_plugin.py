"""mkdocs and material: the only module that knows them.

The pages come ready from `build`; mkdocs puts them into the theme, links them in the navigation
and writes them. Two ways lead here: `publish`, which `asbuilt build` calls for one site with its
tree in hand, and `mkdocs build` / `mkdocs serve` in a records repository, where the plugin reads
`sites/` itself.

What mkdocs needs to be told against: it publishes whatever stands in `docs_dir` (here: the
records), it empties the published site before it collects the pages, a failed rebuild hangs its
server, and its templates don't escape. Each is answered below where it arises.
"""

from __future__ import annotations

import functools
import logging
import os
import re
import tempfile
from collections.abc import Callable, Collection, Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any

from jinja2 import Environment
from mkdocs.commands.build import build as mkdocs_build
from mkdocs.config.base import Config
from mkdocs.config.defaults import MkDocsConfig
from mkdocs.exceptions import PluginError
from mkdocs.plugins import BasePlugin, event_priority, get_plugin_logger
from mkdocs.structure.files import File, Files, InclusionLevel
from mkdocs.structure.nav import Navigation
from mkdocs.structure.pages import Page as MkDocsPage
from mkdocs.utils import write_file
from mkdocs.utils.templates import TemplateContext

from asbuilt.checks.report import problem_line
from asbuilt.drawings.sheet import CSS_RULES
from asbuilt.io.files import explain_os_errors, find_top
from asbuilt.pages.page import Asset, Page
from asbuilt.problem import Level, Problem, WorldError
from asbuilt.publish.all_sites import AllSites
from asbuilt.publish.dev_server import ServedFolder, keep_serving
from asbuilt.publish.incremental import watched_files
from asbuilt.publish.ready_page import SLOT, Frame, ReadyPage, frame_of, framed, safe
from asbuilt.publish.search import SEARCH, SEPARATOR, entries_in, entries_of, parses_pages
from asbuilt.publish.security_policy import policy_of
from asbuilt.publish.site_output import SiteOutput
from asbuilt.publish.theme import FEATURES, PALETTE, THEME, environment_of

if TYPE_CHECKING:
    from mkdocs.livereload import LiveReloadServer

#: What drawings wear that are written into pages.
DRAWINGS = "assets/drawings.css"
log = get_plugin_logger(__name__)
# What fails is raised too, and told once by whoever asked for the build.
logging.getLogger("mkdocs.commands.build").addHandler(logging.NullHandler())

#: Of the theme's own files, what no page of ours asks for.
_UNUSED = re.compile(r"\.map$|/lunr/|^assets/images/|^(404|sitemap)\.")


def publish(
    volume: SiteOutput,
    folder: Path,
    *,
    front: str | None = None,
    only: Collection[str] | None = None,
    served: bool = False,
) -> None:
    """Write one volume as a whole site into the empty `folder`. `front` is the link from its
    first page to the page over all sites, where there is one; `only` the paths of the pages and
    files that are wanted, beside what all pages share; `served` says that `serve` will write its
    own script into the pages."""
    os.environ.setdefault("NO_MKDOCS_2_WARNING", "1")  # material's word to its own users
    with tempfile.TemporaryDirectory() as nothing:
        config = MkDocsConfig()
        config.load_dict(
            {
                "site_name": volume.name,
                "site_dir": str(folder),
                "docs_dir": nothing,
                "theme": {"name": "material"},
                # The page over all sites has a search of its own.
                "plugins": [
                    "asbuilt",
                    *([{SEARCH: {}}] if volume.key else []),
                    {"material/offline": {}},
                ],
            }
        )
        failed, warned = config.validate()
        if failed or warned:
            raise RuntimeError(f"mkdocs refuses its settings: {failed or warned}")
        plugin = config.plugins["asbuilt"]
        assert isinstance(plugin, AsbuiltPlugin)
        plugin.hand_over(volume, front, only, served)
        with explain_os_errors(f"writing {folder.name}"):
            mkdocs_build(config)


class AsbuiltConfig(Config):  # type: ignore[no-untyped-call]
    """No option: what a site is lies in its records."""


class AsbuiltPlugin(BasePlugin[AsbuiltConfig]):  # type: ignore[no-untyped-call]
    """Feeds the pages to mkdocs, in the order of its events."""

    def __init__(self) -> None:
        self._handed: tuple[SiteOutput, str | None] | None = None
        self._volumes: list[tuple[str, SiteOutput, str | None]] = []
        self._bookcase = AllSites()
        self._serving = False
        self._served = ServedFolder()
        self._problems: tuple[Problem, ...] = ()
        self._frames: dict[Frame, list[str]] = {}
        self._alike: list[tuple[Frame, Page]] = []
        self._only: Collection[str] | None = None

    def hand_over(
        self, volume: SiteOutput, front: str | None, only: Collection[str] | None, served: bool
    ) -> None:
        self._handed = (volume, front)
        self._only = only
        self._serving = served

    def on_startup(self, *, command: str, dirty: bool) -> None:
        """mkdocs keeps a plugin that has this event alive over the rebuilds of its server, and
        with it what has been read already."""
        self._serving = command == "serve"

    def on_config(self, config: MkDocsConfig) -> MkDocsConfig:
        """Our look and the settings it rests on, for both ways in. The plugins for search and
        offline reading come after this one and take what stands here."""
        config.site_name = safe(config.site_name)  # the theme prints it as it is
        theme = config.theme
        if str(THEME) not in theme.dirs:
            theme.dirs.insert(0, str(THEME))
        theme.static_templates.clear()  # no sitemap, which carries the day of the build
        theme["font"] = False  # fonts would come from another host
        theme["favicon"] = "assets/favicon.svg"
        theme["features"] = list(FEATURES)
        theme["palette"] = PALETTE
        config.use_directory_urls = False  # links are final and work from a disk too
        config.repo_url = config.edit_uri = None
        config.extra_css = [*config.extra_css, "assets/asbuilt.css", DRAWINGS]
        config.extra_javascript = [*config.extra_javascript, "assets/asbuilt.js"]
        config.extra.update(
            generator=False,
            polyfills=["assets/iframe-worker.js"],  # else the offline plugin names another host
            scope="/",  # one choice of light or dark for all sites; keeps scripts the same on all
            policy="",
        )
        search = config.plugins.get(SEARCH)
        if search is not None:
            search.config["separator"] = search.config.get("separator") or SEPARATOR
            search.config["lang"] = search.config.get("lang") or ["en"]
            if search.config.get("pipeline") is None:
                search.config["pipeline"] = []  # names and labels have no stem
        if self._handed is None:
            top = _top(config)
            config.watch = [*config.watch, *(str(path) for path in watched_files(top))]
            if self._serving:
                self._served.turn_aside(config)
        else:
            theme.get_env = functools.partial(environment_of, theme)  # type: ignore[method-assign]
        self._frames.clear()
        self._alike.clear()
        return config

    def on_pre_build(self, *, config: MkDocsConfig) -> None:
        """Read everything here: what fails before this event ends leaves the old site in place,
        what fails later finds it emptied."""
        if self._handed:
            volume, front = self._handed
            self._volumes = [("", volume, front)]
            return
        try:
            done = self._bookcase.volumes(_top(config))
        except WorldError as error:
            raise PluginError(str(error)) from error
        self._problems = done.problems
        for problem in done.problems:
            if problem.level is Level.ERROR:
                log.error(problem_line(problem))
        if done.broken:
            sites = ", ".join(done.broken)
            raise PluginError(f"nothing was built: the records of {sites} have errors")
        self._volumes = [
            *([("", done.front, None)] if done.front else []),
            *((f"{volume.key}/", volume, "../index.html") for volume in done.volumes),
        ]
        if self._serving:
            self._only = self._served.wanted(done.digests())

    def on_files(self, files: Files, *, config: MkDocsConfig) -> Files:
        """Of what mkdocs found, only the theme's files stay: `docs_dir` holds the records, and
        nothing that stands there is for publishing as it is."""
        records = Path(config.docs_dir).resolve()
        theirs = {file.src_dir for file in files if file.src_dir is not None}
        theirs -= {folder for folder in theirs if Path(folder).resolve() == records}
        kept = Files(
            file for file in files if file.src_dir in theirs and not _UNUSED.search(file.src_uri)
        )
        taken = {file.dest_uri.casefold() for file in kept}
        framed: set[Frame] = set()
        every = parses_pages(config)
        for folder, volume, front in self._volumes:
            for part in volume.tree:
                wanted = self._wants(folder + part.path)
                if not (wanted or (isinstance(part, Page) and part.nav)):
                    continue
                if (folder + part.path).casefold() in taken:
                    raise RuntimeError(f"two files of the site are called {folder}{part.path}")
                taken.add((folder + part.path).casefold())
                frame = frame_of(folder, part)
                if frame is not None and frame in framed and not every:
                    assert isinstance(part, Page)
                    self._alike.append((frame, part))
                    continue
                if frame is not None:
                    framed.add(frame)
                kept.append(_generated(config, folder, part, volume, front, wanted))
        kept.append(File.generated(config, DRAWINGS, content=CSS_RULES))
        config.nav = list(self._nav())
        return kept

    def _wants(self, path: str) -> bool:
        return self._only is None or path in self._only

    def _nav(self) -> Iterator[dict[str, Any]]:
        """Only the pages with a line of their own: every page in it costs time on every other."""
        for folder, volume, _ in self._volumes:
            lines = [
                {part.nav: _source(folder, part)}
                for part in volume.tree
                if isinstance(part, Page) and part.nav is not None
            ]
            if folder:
                yield {safe(volume.name): lines}
            else:
                yield from lines

    def on_nav(self, nav: Navigation, *, config: MkDocsConfig, files: Files) -> Navigation:
        """Hang each record's page under its parent, so that it shows the way back."""
        for folder, volume, _ in self._volumes:
            for part in volume.tree:
                if isinstance(part, Page) and part.parent is not None and part.nav is None:
                    child = files.get_file_from_path(_source(folder, part))
                    above = files.get_file_from_path(_source(folder, part.parent))
                    if child and child.page and above and above.page:
                        child.page.parent = above.page  # type: ignore[assignment]
        return nav

    def on_env(self, env: Environment, *, config: MkDocsConfig, files: Files) -> Environment:
        env.trim_blocks = env.lstrip_blocks = True  # a third of each page was blank lines
        if not self._serving:  # the server writes its reload script into each page
            config.extra["policy"] = policy_of(env, config)
        search = config.plugins.get(SEARCH)
        entries = entries_in(search)
        if entries is not None:
            for folder, volume, _ in self._volumes:
                for part in volume.tree:
                    if isinstance(part, Page):
                        entries.extend(entries_of(folder, part))
        else:
            for file in files.documentation_pages():
                if file.page:
                    file.page.meta.pop("search", None)
        return env

    def on_page_context(
        self, context: TemplateContext, *, page: MkDocsPage, config: MkDocsConfig, nav: Navigation
    ) -> TemplateContext:
        """What is around a page is rendered apart from what is its own, which the theme and its
        search would go through again and again."""
        if isinstance(page, ReadyPage) and not parses_pages(config):
            page.keep_out()
        return context

    def on_post_page(self, output: str, *, page: MkDocsPage, config: MkDocsConfig) -> str:
        """Record pages differ in title and content only: what is around these is rendered once
        for all that hang under the same page. The first of them comes by here."""
        if not isinstance(page, ReadyPage) or not page.meta["wanted"]:
            return output
        pieces = SLOT.split(output)
        if page.frame is not None:
            self._frames[page.frame] = pieces
        return framed(page.source, pieces)

    @event_priority(-1000)  # after the search has written what it finds
    def on_post_build(self, *, config: MkDocsConfig) -> None:
        """Write the pages whose frame was rendered for another."""
        for frame, page in self._alike:
            text = framed(page, self._frames[frame])
            path = os.path.join(config.site_dir, frame.folder, page.path)  # noqa: PTH118
            write_file(text.encode("utf-8", "xmlcharrefreplace"), path)
        self._alike.clear()
        self._served.lay_over(config)

    def on_build_error(self, *, error: Exception) -> None:
        self._served.give_up()

    def on_serve(
        self, server: LiveReloadServer, *, config: MkDocsConfig, builder: Callable[..., None]
    ) -> LiveReloadServer:
        keep_serving(server, self.problems_now)
        return server

    def problems_now(self) -> tuple[Problem, ...]:
        return self._problems


def _generated(
    config: MkDocsConfig,
    folder: str,
    part: Page | Asset,
    volume: SiteOutput,
    front: str | None,
    wanted: bool,
) -> File:
    """A part of a volume as mkdocs knows files. A page that isn't wanted is there for the
    navigation of the others, and stays unwritten."""
    if isinstance(part, Asset):
        file = File.generated(
            config, folder + part.path, content=part.data, inclusion=InclusionLevel.INCLUDED
        )
        file.dest_uri = folder + part.path
        return file
    inclusion = InclusionLevel.INCLUDED if part.nav else InclusionLevel.NOT_IN_NAV
    file = File.generated(config, _source(folder, part), content="", inclusion=inclusion)
    file.dest_uri = folder + part.path  # mkdocs would make an index of a page called README
    meta = {
        "title": safe(part.title),
        "description": safe(part.description),
        "site": safe(volume.name),
        "home": f"{folder}index.html",
        "front": "../" * part.path.count("/") + front if front else None,
        "edition": safe(volume.edition),
        "revision": safe(volume.revision),
        "search": {"exclude": True},  # our own entries are shorter, and need no parsing
        "template": "main.html" if wanted else "unwritten.html",
        "wanted": wanted,
    }
    ReadyPage(part, frame_of(folder, part), file, config, meta)
    return file


def _source(folder: str, page: Page | str) -> str:
    """mkdocs knows a page by the name of a Markdown file."""
    path = page if isinstance(page, str) else page.path
    return f"{folder}{path.removesuffix('.html')}.md"


def _top(config: MkDocsConfig) -> Path:
    return find_top(Path(config.config_file_path or ".").absolute().parent)
