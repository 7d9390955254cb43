"""python -m asbuilt: the same as the command."""

from asbuilt.cli import main

main(prog_name="asbuilt")
