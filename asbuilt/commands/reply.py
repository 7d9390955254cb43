"""What a command answers: text as it goes along, or one JSON document at its end."""

from __future__ import annotations

import json
from collections.abc import Callable, Sequence
from functools import wraps
from typing import Any, Final

import click
from rich.text import Text

from asbuilt.commands.terminal import out
from asbuilt.edits.requests import Refusal
from asbuilt.escape import terminal
from asbuilt.lists.cells import ListProblem, letters
from asbuilt.problem import WorldError

TEXT: Final = "text"
JSON: Final = "json"
_KEY: Final = "asbuilt.answer"


def answering(command: Callable[..., Any]) -> Callable[..., Any]:
    """Gives a command `--format`; refusals end as one sentence. As JSON, whatever it says is kept
    until it ends: standard output holds the document alone. Exit codes are the same."""

    @click.option(
        "--format",
        "form",
        type=click.Choice([TEXT, JSON]),
        default=TEXT,
        show_default=True,
        help="Lines to read, or one JSON document.",
    )
    @wraps(command)
    def wrapped(form: str, **rest: Any) -> Any:
        document: dict[str, Any] | None = None
        if form == JSON:
            document = click.get_current_context().meta[_KEY] = {"error": None, "notes": []}
        try:
            code = command(**rest)
        except (Refusal, WorldError) as error:
            if document is not None:
                document["error"] = str(error)
                _print(document)
            raise WorldError(str(error)) from error
        if document is not None:
            _print(document)
        return code

    return wrapped


def say(text: str) -> None:
    """A line for people; in a document, one of its notes."""
    document = _document()
    if document is None:
        line = terminal(text)
        out().print(Text(f"    {line}" if text.startswith(" ") else line))
    else:
        document["notes"].append(terminal(text))


def tell(**parts: Any) -> None:
    """Parts of the document; nothing where people read."""
    document = _document()
    if document is not None:
        document.update(parts)


def tell_wrong(wrong: Sequence[ListProblem]) -> None:
    """What is wrong with somebody's list, cell by cell."""
    found = [
        {
            "row": one.spot.row or None,
            "column": letters(one.spot.column) or None,
            "message": one.message,
            "hint": one.hint,
        }
        for one in wrong
    ]
    tell(wrong=found)


def for_machines() -> bool:
    """Whether a document is asked for: what stands in `tell` isn't said in lines too."""
    return _document() is not None


def _document() -> dict[str, Any] | None:
    context = click.get_current_context(silent=True)
    found = context.meta.get(_KEY) if context else None
    return found if isinstance(found, dict) else None


def _print(document: dict[str, Any]) -> None:
    click.echo(json.dumps(document, ensure_ascii=False, indent=2, sort_keys=True))
