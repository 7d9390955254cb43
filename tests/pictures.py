"""The pictures of the documentation, taken of the demonstration: `python -m tests.pictures`.

Few, and small: as many colours as a drawing needs.
"""

from __future__ import annotations

import io
import tempfile
from pathlib import Path

from click.testing import CliRunner
from PIL import Image

from asbuilt.cli import main
from tests.chromium import PHONE, browser

PICTURES = Path(__file__).parents[1] / "docs" / "pages" / "pictures"
COLOURS = 24

#: Name → the page of the office's site, and the window it is looked at through.
SHOTS = {
    "brief": ("index.html", (1280, 900)),
    "enclosure": ("enclosures/1A.html", (1280, 1300)),
    "outlet-on-a-phone": ("outlets/1A-B09.html", PHONE),
    "headroom": ("headroom.html", (1280, 800)),
}


def take() -> None:
    with tempfile.TemporaryDirectory() as folder:
        records = Path(folder) / "records"
        CliRunner().invoke(
            main, ["demo", str(records)], catch_exceptions=False, standalone_mode=True
        )
        site = records / "public" / "ostrel-vane"
        PICTURES.mkdir(parents=True, exist_ok=True)
        for name, (page, size) in SHOTS.items():
            with browser(size) as driver:
                driver.get((site / page).as_uri())
                shot = Image.open(io.BytesIO(driver.get_screenshot_as_png())).convert("RGB")
                small = shot.quantize(COLOURS, dither=Image.Dither.NONE)
                small.save(PICTURES / f"{name}.png", optimize=True)


if __name__ == "__main__":
    take()
