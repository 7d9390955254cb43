"""The picture in the README, taken of the demonstration: `python -m tests.pictures`."""

from __future__ import annotations

import tempfile
from pathlib import Path

from click.testing import CliRunner

from asbuilt.cli import main
from tests.browser import browser

PICTURE = Path(__file__).with_name("pictures") / "enclosure.png"


def take() -> None:
    with tempfile.TemporaryDirectory() as folder:
        records = Path(folder) / "records"
        CliRunner().invoke(
            main, ["demo", str(records)], catch_exceptions=False, standalone_mode=True
        )
        page = records / "public" / "ostrel-vane" / "enclosures" / "1A.html"
        with browser((1280, 1500)) as driver:
            driver.get(page.as_uri())
            PICTURE.parent.mkdir(exist_ok=True)
            driver.save_screenshot(str(PICTURE))


if __name__ == "__main__":
    take()
