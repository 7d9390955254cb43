"""The commands that edit records: moves, adds and changes, and lists out and in.

desk     what they share: a site on the desk; what would change, told and checked; all or nothing
moves    one command a move, add or change
lists    lists to a spreadsheet and from one
results  certification results into a file of their own
"""

import click

from asbuilt.cli_moves import lists, moves


def register(group: click.Group) -> None:
    """Hang the commands into the group of all commands."""
    moves.register(group)
    lists.register(group)
