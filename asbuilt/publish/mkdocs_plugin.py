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
import html
import html.parser
import logging
import os
import re
import tempfile
from collections.abc import Callable, Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any
from wsgiref.types import StartResponse, WSGIEnvironment

from jinja2 import Environment, FileSystemLoader
from markupsafe import Markup
from mkdocs.commands.build import build as mkdocs_build
from mkdocs.config.base import Config
from mkdocs.config.defaults import MkDocsConfig
from mkdocs.exceptions import Abort, MkDocsException, PluginError
from mkdocs.plugins import BasePlugin, event_priority, get_plugin_logger
from mkdocs.structure.files import File, Files, InclusionLevel
from mkdocs.structure.nav import Navigation
from mkdocs.structure.pages import Page as MkDocsPage
from mkdocs.structure.toc import AnchorLink, TableOfContents
from mkdocs.theme import Theme
from mkdocs.utils import write_file
from mkdocs.utils.templates import TemplateContext

from asbuilt import escape
from asbuilt.checks.report import line_of
from asbuilt.drawings.sheet import RULES
from asbuilt.io.files import find_top, lay_over, remove_tree, telling, theme_folder
from asbuilt.pages.page import Asset, Page, SearchEntry
from asbuilt.problem import Level, Problem, WorldError
from asbuilt.publish import build
from asbuilt.publish.build import Built, Standing
from asbuilt.publish.site_output import Volume
from asbuilt.publish.templates import keep_compiled

if TYPE_CHECKING:
    from mkdocs.livereload import LiveReloadServer

log = get_plugin_logger(__name__)
# What fails is raised too, and told once by whoever asked for the build.
logging.getLogger("mkdocs.commands.build").addHandler(logging.NullHandler())

THEME = theme_folder()
SEARCH = "material/search"
DRAWINGS = "assets/drawings.css"  # what drawings wear that are written into pages
#: Labels are looked for whole and in parts: 1A-A01, A01, 1A/A/01, a room's number, a name.
SEPARATOR = r"[\s\-/_.,:;|()\[\]“”\"']+"
#: Of the theme's own files, what no page of ours asks for.
_UNUSED = re.compile(r"\.map$|/lunr/|^assets/images/|^(404|sitemap)\.")
_TAG = re.compile(r"<[^>]*>")
_HEADING = re.compile(r'<h([12]) id="([^"]+)"[^>]*>(.*?)</h\1>', re.DOTALL)
_FEATURES = [
    "navigation.path",
    "navigation.top",
    "search.highlight",
    "search.suggest",
    "toc.integrate",
]
_PALETTE: list[dict[str, Any]] = [
    {
        "media": media,
        "scheme": scheme,
        "primary": "custom",
        "accent": "custom",
        "toggle": {"icon": f"material/{icon}", "name": name},
    }
    for media, scheme, icon, name in (
        ("(prefers-color-scheme)", "default", "theme-light-dark", "Now as the system; to light"),
        ("(prefers-color-scheme: light)", "default", "weather-sunny", "Now light; to dark"),
        ("(prefers-color-scheme: dark)", "slate", "weather-night", "Now dark; to the system's"),
    )
]


def publish(
    volume: Volume,
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
        with telling(f"writing {folder.name}"):
            mkdocs_build(config)


class AsbuiltConfig(Config):  # type: ignore[no-untyped-call]
    """No option: what a site is lies in its records."""


class AsbuiltPlugin(BasePlugin[AsbuiltConfig]):  # type: ignore[no-untyped-call]
    """Feeds the pages to mkdocs, in the order of its events."""

    def __init__(self) -> None:
        self._handed: tuple[Volume, str | None] | None = None
        self._volumes: list[tuple[str, Volume, str | None]] = []
        self._bookcase = build.Bookcase()
        self._serving = False
        self._served = _Served()
        self._problems: tuple[Problem, ...] = ()
        self._frames: dict[_Frame, list[str]] = {}
        self._alike: list[tuple[_Frame, Page]] = []
        self._only: Collection[str] | None = None

    def hand_over(
        self, volume: Volume, front: str | None, only: Collection[str] | None, served: bool
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
        config.site_name = _safe(config.site_name)  # the theme prints it as it is
        theme = config.theme
        if str(THEME) not in theme.dirs:
            theme.dirs.insert(0, str(THEME))
        theme.static_templates.clear()  # no sitemap, which carries the day of the build
        theme["font"] = False  # fonts would come from another host
        theme["favicon"] = "assets/favicon.svg"
        theme["features"] = list(_FEATURES)
        theme["palette"] = _PALETTE
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
            config.watch = [*config.watch, *(str(path) for path in build.watched(top))]
            if self._serving:
                self._served.turn_aside(config)
        else:
            theme.get_env = functools.partial(_environment, theme)  # type: ignore[method-assign]
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
                log.error(line_of(problem))
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
        framed: set[_Frame] = set()
        every = _parses(config)
        for folder, volume, front in self._volumes:
            for part in volume.tree:
                wanted = self._wants(folder + part.path)
                if not (wanted or (isinstance(part, Page) and part.nav)):
                    continue
                if (folder + part.path).casefold() in taken:
                    raise RuntimeError(f"two files of the site are called {folder}{part.path}")
                taken.add((folder + part.path).casefold())
                frame = _frame_of(folder, part)
                if frame is not None and frame in framed and not every:
                    assert isinstance(part, Page)
                    self._alike.append((frame, part))
                    continue
                if frame is not None:
                    framed.add(frame)
                kept.append(_generated(config, folder, part, volume, front, wanted))
        kept.append(File.generated(config, DRAWINGS, content=RULES))
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
                yield {_safe(volume.name): lines}
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
            config.extra["policy"] = _policy(env, config)
        search = config.plugins.get(SEARCH)
        entries = _search_entries(search)
        if entries is not None:
            for folder, volume, _ in self._volumes:
                for part in volume.tree:
                    if isinstance(part, Page):
                        entries.extend(_entries_of(folder, part))
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
        if isinstance(page, ReadyPage) and not _parses(config):
            page.keep_out()
        return context

    def on_post_page(self, output: str, *, page: MkDocsPage, config: MkDocsConfig) -> str:
        """Record pages differ in title and content only: what is around these is rendered once
        for all that hang under the same page. The first of them comes by here."""
        if not isinstance(page, ReadyPage) or not page.meta["wanted"]:
            return output
        pieces = _SLOT.split(output)
        if page.frame is not None:
            self._frames[page.frame] = pieces
        return _framed(page.source, pieces)

    @event_priority(-1000)  # after the search has written what it finds
    def on_post_build(self, *, config: MkDocsConfig) -> None:
        """Write the pages whose frame was rendered for another."""
        for frame, page in self._alike:
            text = _framed(page, self._frames[frame])
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


class _Served:
    """The folder that the server of mkdocs shows. Its first build fills it; those after a save
    write the pages that have changed to another, which is laid over it when all are there."""

    def __init__(self) -> None:
        self._pages: Mapping[str, bytes] = {}  # what stands there: path → what tells its state
        self._coming: Mapping[str, bytes] = {}
        self._folder: Path | None = None
        self._aside: Path | None = None

    def turn_aside(self, config: MkDocsConfig) -> None:
        """Let mkdocs empty and fill a folder beside the one that is shown."""
        self.give_up()
        if self._pages:
            self._folder = Path(config.site_dir)
            self._aside = Path(tempfile.mkdtemp(dir=self._folder.parent))
            config.site_dir = str(self._aside)

    def wanted(self, coming: Mapping[str, bytes]) -> Collection[str] | None:
        """Which pages are to be written; None for all."""
        self._coming = coming
        if self._aside is None:
            return None
        return {path for path in coming if coming[path] != self._pages.get(path)}

    def lay_over(self, config: MkDocsConfig) -> None:
        if self._aside is not None and self._folder is not None:
            lay_over(self._aside, self._folder, self._pages.keys() - self._coming.keys())
            config.site_dir = str(self._folder)
        self._pages = self._coming
        self.give_up()

    def give_up(self) -> None:
        """Leave no folder behind."""
        if self._aside is not None:
            remove_tree(self._aside)
        self._aside = self._folder = None


class ReadyPage(MkDocsPage):
    """A page whose HTML is there already: nothing is parsed."""

    def __init__(
        self,
        page: Page,
        frame: _Frame | None,
        file: File,
        config: MkDocsConfig,
        meta: dict[str, Any],
    ) -> None:
        super().__init__(_safe(page.nav or page.title), file, config)
        self.source = page
        self.frame = frame
        self._ready_meta = meta

    def read_source(self, config: MkDocsConfig) -> None:
        self.markdown = ""
        self.meta = dict(self._ready_meta)

    def render(self, config: MkDocsConfig, files: Files) -> None:
        self.content = self.source.html
        self.toc = _contents(self.source.html)

    def keep_out(self) -> None:
        """Let slots stand where this page's own texts belong."""
        self.content = _slot("content", "<h1" if "<h1" in self.source.html else "")
        if self.frame is not None:
            texts = {name: _slot(name) for name in ("title", "description") if self.meta[name]}
            self.meta = {**self.meta, **texts}


@dataclass(frozen=True, slots=True)
class _Frame:
    """All of a record's page that shows in what is around its own texts; the theme adds a heading
    where there is none, and a way to the first."""

    folder: str
    parent: str | None
    depth: int
    described: bool
    headed: bool
    first: str


def _frame_of(folder: str, part: Page | Asset) -> _Frame | None:
    """None for what isn't a record's page."""
    if isinstance(part, Asset) or part.nav is not None:
        return None
    first = _HEADING.search(part.html)
    return _Frame(
        folder,
        part.parent,
        part.path.count("/"),
        bool(part.description),
        "<h1" in part.html,
        first[2] if first else "",
    )


def _framed(page: Page, pieces: Sequence[str]) -> str:
    """A page's own texts in a frame: `pieces` with the names of what belongs between them."""
    texts = {
        "title": _safe(page.title),
        "description": _safe(page.description),
        "content": page.html,
    }
    return "".join(texts[part] if at % 2 else part for at, part in enumerate(pieces))


#: Where a page's own texts stand in its frame.
_SLOT = re.compile("\x02(title|description|content)[^\x03]*\x03")


def _slot(name: str, inner: str = "") -> Markup:
    return Markup(f"\x02{name}{inner}\x03")  # noqa: S704 - no record can hold these signs


class _Remembering(FileSystemLoader):
    """Of the theme's files, lists the few that may be published, and looks for them once: beside
    them lie ten thousand icons."""

    def list_templates(self) -> list[str]:
        return list(self._found)

    @functools.cached_property
    def _found(self) -> tuple[str, ...]:
        return tuple(sorted({name for top in self.searchpath for name in _shown_below(Path(top))}))


def _shown_below(top: Path) -> Iterator[str]:
    for folder, inside, names in os.walk(top):
        inside[:] = [name for name in inside if not name.startswith(".")]
        below = Path(folder).relative_to(top)
        yield from ((below / name).as_posix() for name in names if not name.startswith("."))


_ENVIRONMENTS: dict[tuple[str, ...], Environment] = {}


def _environment(theme: Theme) -> Environment:
    """One for all sites that a process publishes: reading the templates took as long as writing
    fifty pages."""
    folders = tuple(theme.dirs)
    if folders not in _ENVIRONMENTS:
        env = _ENVIRONMENTS[folders] = Theme.get_env(theme)
        env.loader = _Remembering(folders)
        env.trim_blocks = env.lstrip_blocks = True
        keep_compiled(env)
    return _ENVIRONMENTS[folders]


def _generated(
    config: MkDocsConfig,
    folder: str,
    part: Page | Asset,
    volume: Volume,
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
        "title": _safe(part.title),
        "description": _safe(part.description),
        "site": _safe(volume.name),
        "home": f"{folder}index.html",
        "front": "../" * part.path.count("/") + front if front else None,
        "edition": _safe(volume.edition),
        "revision": _safe(volume.revision),
        "search": {"exclude": True},  # our own entries are shorter, and need no parsing
        "template": "main.html" if wanted else "unwritten.html",
        "wanted": wanted,
    }
    ReadyPage(part, _frame_of(folder, part), file, config, meta)
    return file


def _safe(text: str) -> Markup:
    """A record's text for the theme, which writes it as it is, or escapes what isn't yet."""
    return Markup(escape.html(text))  # noqa: S704 - escaped here


def _source(folder: str, page: Page | str) -> str:
    """mkdocs knows a page by the name of a Markdown file."""
    path = page if isinstance(page, str) else page.path
    return f"{folder}{path.removesuffix('.html')}.md"


def _contents(text: str) -> TableOfContents:
    """The page's own headings: its title, and the sections under it."""
    top: list[AnchorLink] = []
    for level, anchor, inner in _HEADING.findall(text):
        title = _safe(html.unescape(_TAG.sub("", inner)))
        link = AnchorLink(title, anchor, int(level))
        if level == "2" and top and top[0].level == 1:
            top[0].children.append(link)
        else:
            top.append(link)
    return TableOfContents(top)


def _parses(config: MkDocsConfig) -> bool:
    """Whether the search reads the pages themselves, so that it has to be shown each."""
    search = config.plugins.get(SEARCH)
    return search is not None and _search_entries(search) is None


def _search_entries(search: Any) -> list[dict[str, Any]] | None:
    """The list material's search writes out; None when its insides aren't what we know, and
    then it parses the pages itself."""
    entries = getattr(getattr(search, "search_index", None), "entries", None)
    return entries if isinstance(entries, list) else None


def _entries_of(folder: str, page: Page) -> Iterator[dict[str, Any]]:
    entries: Sequence[SearchEntry] = page.search
    if not any(not entry.anchor for entry in entries):
        entries = (SearchEntry(page.title), *entries)
    for entry in sorted(entries, key=lambda entry: bool(entry.anchor)):
        anchor = f"#{entry.anchor}" if entry.anchor else ""
        yield {
            "location": f"{folder}{page.path}{anchor}",
            "title": escape.html(entry.title),  # what search finds is put into the page as HTML
            "text": escape.html(entry.text),
        }


def _policy(env: Environment, config: MkDocsConfig) -> str:
    """Nothing from anywhere else, and no script in a page but the theme's own, by its hash."""
    parts = ("javascripts/base", "javascripts/content", "javascripts/palette")
    scripts: dict[str, None] = {}
    for part in parts:
        template = env.get_template(f"partials/{part}.html")
        for script in _Scripts.of(template.render(config=config, features=_FEATURES, base_url=".")):
            scripts[f"'{escape.fingerprint(script)}'"] = None
    # A page opened from a disk has no origin in every browser: `file:` says the same as 'self'.
    here = "'self' file:"
    return "; ".join(
        (
            "default-src 'none'",
            f"script-src {here} {' '.join(scripts)}",
            f"style-src {here} 'unsafe-inline'",
            f"img-src {here} data:",
            f"font-src {here}",
            f"connect-src {here}",
            f"worker-src {here}",
            f"frame-src {here}",
            "base-uri 'none'",
            "form-action 'none'",
        )
    )


class _Scripts(html.parser.HTMLParser):
    """The scripts written into a piece of HTML."""

    def __init__(self) -> None:
        super().__init__()
        self.found: list[str] = []
        self._inside = False

    @classmethod
    def of(cls, text: str) -> list[str]:
        parser = cls()
        parser.feed(text)
        parser.close()
        return parser.found

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self._inside = tag == "script" and not any(name == "src" for name, _ in attrs)
        if self._inside:
            self.found.append("")

    def handle_endtag(self, tag: str) -> None:
        self._inside = False

    def handle_data(self, data: str) -> None:
        if self._inside:
            self.found[-1] += data


def _top(config: MkDocsConfig) -> Path:
    return find_top(Path(config.config_file_path or ".").absolute().parent)


# Serving


def serve(standing: Standing, *, port: int, tell: Callable[[Sequence[Built]], None]) -> None:
    """Serve a standing site until interrupted, and bring it up to date with every save. `tell`
    is told what was built."""

    from mkdocs.livereload import LiveReloadServer  # what only builds needs none of it

    def update() -> None:
        tell(standing.update())

    update()
    server = LiveReloadServer(update, "127.0.0.1", port, str(standing.output))
    keep_serving(server, standing.problems)
    server.watch(str(standing.records))
    for path in build.watched(standing.top):
        server.watch(str(path))
    try:
        with telling(f"serving on port {port}"):
            server.serve()  # type: ignore[no-untyped-call]
    except KeyboardInterrupt:
        return
    finally:
        server.shutdown()


def keep_serving(server: LiveReloadServer, problems: Callable[[], Iterable[Problem]]) -> None:
    """Let `server` outlive a failed rebuild: the pages of the last good one stay, each with what
    is wrong written over it. By itself the server would let every request wait until it is
    mended."""
    rebuild = server.builder
    said: list[str] = []

    def wrong() -> list[str]:
        errors = [line_of(problem) for problem in problems() if problem.level is Level.ERROR]
        return errors or said

    def rebuild_or_tell(*args: Any) -> None:
        said.clear()
        try:
            rebuild(*args)
        except (Abort, MkDocsException, WorldError) as error:
            said.append(str(error))
            log.error("The pages of the last good build are still served.")

    server.builder = rebuild_or_tell
    pages = server.get_app()
    assert pages is not None

    def pages_with_banner(environ: WSGIEnvironment, start: StartResponse) -> Iterable[bytes]:
        answer: list[Any] = []

        def note(*head: Any) -> Callable[[bytes], object]:
            answer.extend(head)
            return lambda data: None

        body = pages(environ, note)  # waits for a rebuild under way: only now ask what is wrong
        status, headers = answer[0], answer[1]
        kinds = [value for name, value in headers if name.lower() == "content-type"]
        lines = wrong()
        if lines and kinds and kinds[0].startswith("text/html"):
            page = with_banner(b"".join(body), lines)
            headers = [pair for pair in headers if pair[0].lower() != "content-length"]
            headers.append(("Content-Length", str(len(page))))
            body = [page]
        start(status, headers)
        return body

    server.set_app(pages_with_banner)


def with_banner(page: bytes, wrong: Iterable[str]) -> bytes:
    """A page with what is wrong at its head; the styles come along, whatever page it is."""
    lines = "".join(f"<li>{escape.html(line)}</li>" for line in wrong)
    banner = (
        '<div role="alert" style="position:sticky;top:0;z-index:99;max-height:50vh;overflow:auto;'
        'padding:.8em 1.2em;background:#fff4f0;color:#300;border-bottom:3px solid #a20">'
        "<b>This page is as of the last good build.</b> Mend this, and it follows:"
        f'<ul style="margin:.4em 0 0 1.2em;font-family:monospace">{lines}</ul></div>'
    ).encode()
    start = page.find(b"<body")
    end = page.find(b">", start) + 1 if start >= 0 else 0
    return page[:end] + banner + page[end:]
