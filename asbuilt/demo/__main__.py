"""`python -m asbuilt.demo [DIR]` writes the last state of the demonstration to DIR/sites."""

from __future__ import annotations

import shutil
import sys
from pathlib import Path

from asbuilt.demo.storyboard import SITES, final_files, final_pictures


def main(top: Path) -> None:
    """The folders of the demonstration's sites hold its last state afterwards, nothing else."""
    for site in SITES:
        shutil.rmtree(top / "sites" / site, ignore_errors=True)
    texts = {path: text.encode() for path, text in final_files().items()}
    for path, data in {**texts, **final_pictures()}.items():
        target = top / path
        target.parent.mkdir(parents=True, exist_ok=True)
        target.write_bytes(data)


if __name__ == "__main__":
    main(Path(sys.argv[1] if len(sys.argv) > 1 else "."))
