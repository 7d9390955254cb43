"""The command as a whole: which module knows a command, and how what it says ends.

Exit codes: 0 all is well; 1 the records have errors, or the world stands in the way (no
repository, a full disk), which is told in one sentence; 2 the command wasn't understood; 130
interrupted. A traceback is a mistake of ours.
"""

from __future__ import annotations

import importlib
import os
import sys
from collections.abc import Callable, Sequence
from functools import partial
from typing import TYPE_CHECKING, Any

import click
from rich.text import Text

from asbuilt import __version__
from asbuilt.commands import NAMES
from asbuilt.commands.terminal import err
from asbuilt.escape import terminal
from asbuilt.io.workers import collect_seldom
from asbuilt.problem import WorldError

if TYPE_CHECKING:
    from asbuilt.publish.build import Built
    from asbuilt.publish.incremental import IncrementalBuild
    from asbuilt.publish.site_output import Publish

INTERRUPTED = 130


class FrontDoor(click.Group):
    """Turns what a command says into an exit code, and what it raises into one message; loads a
    command when it is asked for."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        return sorted({*self.commands, *(name for names in NAMES.values() for name in names)})

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        if cmd_name not in self.commands:
            for module, names in NAMES.items():
                if cmd_name in names:
                    room = importlib.import_module(f"asbuilt.commands.{module}")
                    room.register(self, *handed_to(module))
        return super().get_command(ctx, cmd_name)

    def main(
        self,
        args: Sequence[str] | None = None,
        prog_name: str | None = None,
        complete_var: str | None = None,
        standalone_mode: bool = True,
        windows_expand_args: bool = True,
        **extra: Any,
    ) -> Any:
        collect_seldom()
        try:
            code = super().main(
                args,
                prog_name,
                complete_var,
                False,
                windows_expand_args=windows_expand_args,
                **extra,
            )
        except click.ClickException as error:
            error.show()
            code = error.exit_code
        except (click.Abort, KeyboardInterrupt):
            code = INTERRUPTED
        except WorldError as error:
            err().print(Text.assemble(("asbuilt: ", "bold red"), terminal(str(error))))
            code = 1
        except BrokenPipeError:
            _hush()
            code = 1
        sys.exit(code if isinstance(code, int) else 0)


@click.group(cls=FrontDoor, context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(__version__, prog_name="asbuilt")
def main() -> None:
    """As-built records of structured cabling, from YAML in git to a documentation site.

    Run it inside a records repository: a folder that holds sites/.
    """


def handed_to(module: str) -> tuple[Any, ...]:
    """What a module of commands doesn't know by itself: how pages become a site."""
    handed = {"publishing": (lambda: _publisher(), _serve), "verify": (lambda: _publisher(),)}
    return handed.get(module, ())


def _publisher() -> Publish:
    from asbuilt.publish.mkdocs_plugin import publish  # mkdocs takes its time to load

    return publish


def _serve(
    stand: Callable[[Publish], IncrementalBuild], port: int, tell: Callable[[Sequence[Built]], None]
) -> None:
    from asbuilt.publish.dev_server import serve
    from asbuilt.publish.mkdocs_plugin import publish

    serve(stand(partial(publish, served=True)), port=port, tell=tell)


def _hush() -> None:
    """Nobody listens any more: let nothing be written while we end."""
    os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
