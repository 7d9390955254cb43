"""The server for who works on records: pages follow each save, and a mistake is shown over them."""

from __future__ import annotations

import tempfile
from collections.abc import Callable, Collection, Iterable, Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any
from wsgiref.types import StartResponse, WSGIEnvironment

from mkdocs.config.defaults import MkDocsConfig
from mkdocs.exceptions import Abort, MkDocsException
from mkdocs.plugins import get_plugin_logger

from asbuilt import escape
from asbuilt.checks.report import problem_line
from asbuilt.io.files import explain_os_errors
from asbuilt.io.swap import overlay_tree, remove_tree
from asbuilt.problem import Level, Problem, WorldError
from asbuilt.publish.build import Built
from asbuilt.publish.incremental import IncrementalBuild, watched_files

if TYPE_CHECKING:
    from mkdocs.livereload import LiveReloadServer

log = get_plugin_logger(__name__)


def serve(pages: IncrementalBuild, *, port: int, tell: Callable[[Sequence[Built]], None]) -> None:
    """Serve the pages until interrupted, and bring them up to date with every save. `tell` is
    called with what was built."""

    from mkdocs.livereload import LiveReloadServer  # what only builds needs none of it

    def update() -> None:
        tell(pages.update())

    update()
    server = LiveReloadServer(update, "127.0.0.1", port, str(pages.output))
    keep_serving(server, pages.problems)
    server.watch(str(pages.records))
    for path in watched_files(pages.top):
        server.watch(str(path))
    try:
        with explain_os_errors(f"serving on port {port}"):
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
        errors = [problem_line(problem) for problem in problems() if problem.level is Level.ERROR]
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


class ServedFolder:
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
            overlay_tree(self._aside, self._folder, self._pages.keys() - self._coming.keys())
            config.site_dir = str(self._folder)
        self._pages = self._coming
        self.give_up()

    def give_up(self) -> None:
        """Leave no folder behind."""
        if self._aside is not None:
            remove_tree(self._aside)
        self._aside = self._folder = None
