"""A real browser for tests: Debian's Chromium, driven by its own driver, with no way out."""

from __future__ import annotations

import functools
import json
import shutil
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from http.server import SimpleHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path

import pytest
from selenium.webdriver import Chrome
from selenium.webdriver.chrome.options import Options
from selenium.webdriver.chrome.service import Service
from selenium.webdriver.support.ui import WebDriverWait

CHROMIUM = shutil.which("chromium")
DRIVER = shutil.which("chromedriver")

needs_browser = pytest.mark.skipif(
    CHROMIUM is None or DRIVER is None,
    reason="Chromium and its driver aren't here (apt-get install chromium chromium-driver)",
)

DESKTOP = (1280, 900)
PHONE = (390, 844)


class Patient(Chrome):
    """Comes back when a page is whole: by itself the driver now and then tells of one that is still
    read."""

    def get(self, url: str) -> None:
        super().get(url)
        WebDriverWait(self, 30).until(
            lambda d: d.execute_script(
                "return document.readyState === 'complete' && location.href !== 'data:,'"
            )
        )


@contextmanager
def browser(size: tuple[int, int] = DESKTOP, dark: bool = False) -> Iterator[Chrome]:
    options = Options()
    options.binary_location = CHROMIUM or ""
    for flag in (
        "--headless=new",
        "--no-sandbox",
        "--disable-gpu",
        "--disable-dev-shm-usage",
        "--disable-quic",
        "--no-first-run",
        "--disable-background-networking",
        "--disable-component-update",
        "--disable-sync",
        "--hide-scrollbars",
    ):
        options.add_argument(flag)
    if dark:
        options.add_argument("--force-prefers-color-scheme=dark")
        options.add_argument("--blink-settings=preferredColorScheme=0")
    options.set_capability("goog:loggingPrefs", {"browser": "ALL", "performance": "ALL"})
    driver = Patient(options=options, service=Service(DRIVER))
    try:
        # The window has a least width; a phone is told to the page as a device.
        metrics = {"width": size[0], "height": size[1], "deviceScaleFactor": 1, "mobile": False}
        driver.execute_cdp_cmd("Emulation.setDeviceMetricsOverride", metrics)
        driver.set_page_load_timeout(60)
        yield driver
    finally:
        driver.quit()


@contextmanager
def served(folder: Path) -> Iterator[str]:
    """`folder` over HTTP on this machine; gives its address."""
    handler = functools.partial(_Quiet, directory=str(folder))
    server = ThreadingHTTPServer(("127.0.0.1", 0), handler)
    thread = threading.Thread(target=server.serve_forever, daemon=True)
    thread.start()
    try:
        yield f"http://127.0.0.1:{server.server_address[1]}"
    finally:
        server.shutdown()
        server.server_close()
        thread.join()


class _Quiet(SimpleHTTPRequestHandler):
    def log_message(self, format: str, *args: object) -> None:
        pass


def requested(driver: Chrome) -> set[str]:
    """Every address the browser asked for since it was last asked this."""
    urls: set[str] = set()
    for line in driver.get_log("performance"):  # type: ignore[no-untyped-call]
        message = json.loads(line["message"])["message"]
        if message["method"] == "Network.requestWillBeSent":
            urls.add(message["params"]["request"]["url"])
    return urls


def complaints(driver: Chrome) -> list[str]:
    """What the browser's console says is wrong."""
    return [
        line["message"]
        for line in driver.get_log("browser")  # type: ignore[no-untyped-call]
        if line["level"] in ("SEVERE", "WARNING") and "favicon" not in line["message"]
    ]


def overflow(driver: Chrome) -> int:
    """By how many pixels the page is wider than the window."""
    wide: int = driver.execute_script(
        "return document.documentElement.scrollWidth - document.documentElement.clientWidth"
    )
    return wide


def look(driver: Chrome, size: tuple[int, int], dark: bool = False) -> None:
    """Show the page that is open in a window of another size, in the light or in the dark."""
    metrics = {"width": size[0], "height": size[1], "deviceScaleFactor": 1, "mobile": False}
    driver.execute_cdp_cmd("Emulation.setDeviceMetricsOverride", metrics)
    liked = [
        {"name": "prefers-color-scheme", "value": "dark" if dark else "light"},
        {"name": "prefers-reduced-motion", "value": "reduce"},
    ]
    driver.execute_cdp_cmd("Emulation.setEmulatedMedia", {"features": liked})
    driver.execute_async_script(  # what was asked for is shown from the next frame on
        "requestAnimationFrame(() => requestAnimationFrame(() => arguments[0]()))"
    )


#: A page of a thousand cells says no more to a rule than one of a hundred.
LARGE = 45_000


def one_of_each_kind(public: Path) -> dict[str, Path]:
    """A page of every kind there is below a published folder, as its tree tells: the one that says
    most and isn't large, of a site with photos where there is one; else the smallest."""
    kinds: dict[str, list[Path]] = {}
    for page in sorted(public.rglob("*.html")):
        within = page.relative_to(public).parts[1:]
        kind = "/".join((*within[:1], *("*" for _ in within[1:])))
        kinds.setdefault(kind or "all sites", []).append(page)

    def rank(page: Path) -> tuple[int, bool, int]:
        size, site = page.stat().st_size, public / page.relative_to(public).parts[0]
        return size if size > LARGE else 0, not (site / "photos").is_dir(), -size

    return {kind: min(pages, key=rank) for kind, pages in kinds.items()}
