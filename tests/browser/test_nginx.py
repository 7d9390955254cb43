"""The example for a web server, started as it stands: a real nginx before a built site.

Outside check: nginx's own reading of its file, and HTTP by the standard library's client.
"""

from __future__ import annotations

import base64
import gzip
import http.client
import os
import shutil
import socket
import subprocess
import time
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path

import pytest
from click.testing import CliRunner
from selenium.webdriver.common.by import By
from selenium.webdriver.support.ui import WebDriverWait

from asbuilt.cli import main
from tests.as_typed import PAGES
from tests.chromium import browser, complaints, needs_browser, requested
from tests.small_site import write_site

NGINX = shutil.which("nginx", path=f"{os.environ.get('PATH', '')}:/usr/sbin")
TYPES = Path("/etc/nginx/mime.types")
pytestmark = pytest.mark.skipif(
    NGINX is None or not TYPES.is_file() or shutil.which("openssl") is None,
    reason="nginx isn't here (apt-get install nginx-light openssl)",
)

PASSWORD = "correct horse"
SECRET = "what lies beside the served folder"
HEADERS = {
    "X-Content-Type-Options": "nosniff",
    "Referrer-Policy": "no-referrer",
    "Content-Security-Policy": "frame-ancestors 'none'",
    "Cross-Origin-Resource-Policy": "same-origin",
    "X-Robots-Tag": "noindex, nofollow",
    "Cache-Control": "private, no-cache",
}


@dataclass(frozen=True, slots=True)
class Answer:
    code: int
    headers: Mapping[str, str]
    body: bytes


@dataclass(frozen=True, slots=True)
class Server:
    port: int
    www: Path

    def asked(self, path: str, method: str = "GET", password: str | None = PASSWORD,
              **headers: str) -> Answer:  # fmt: skip
        """The answer to a request whose path is sent exactly as it is written."""
        connection = http.client.HTTPConnection("127.0.0.1", self.port, timeout=20)
        if password is not None:
            word = base64.b64encode(f"quist:{password}".encode()).decode()
            headers["Authorization"] = f"Basic {word}"
        connection.putrequest(method, path, skip_accept_encoding=True)
        for name, value in headers.items():
            connection.putheader(name.replace("_", "-"), value)
        connection.endheaders()
        response = connection.getresponse()
        answer = Answer(response.status, dict(response.getheaders()), response.read())
        connection.close()
        return answer


@pytest.fixture(scope="module")
def server(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Server]:
    """A small site, built and served by the example; only where things lie is another."""
    top = write_site(tmp_path_factory.mktemp("served"))
    www = top / "www"
    with pytest.MonkeyPatch.context() as here:
        here.chdir(top)
        assert CliRunner().invoke(main, ["build", "--output", "www"]).exit_code == 0
    (www / ".git").mkdir()
    (www / ".git/config").write_text(SECRET)
    (top / "secret.txt").write_text(SECRET)
    (www / "link.txt").symlink_to(top / "secret.txt")
    hashed = subprocess.run(["openssl", "passwd", "-6", "-stdin"], input=PASSWORD,
                            capture_output=True, text=True, check=True).stdout  # fmt: skip
    (top / "passwords").write_text(f"quist:{hashed}")
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    example = (PAGES / "examples/nginx.conf").read_text("utf-8")
    for ours, here_ in (
        ("listen 80;", f"listen 127.0.0.1:{port};"),
        ("root /srv/records/www;", f"root {www};"),
        ("/etc/nginx/records.passwords", str(top / "passwords")),
    ):
        assert example.count(ours) == 1
        example = example.replace(ours, here_)
    (top / "records.conf").write_text(example)
    paths = "".join(f"{kind}_temp_path {top}/{kind}; " for kind in
                    ("client_body", "proxy", "fastcgi", "uwsgi", "scgi"))  # fmt: skip
    (top / "nginx.conf").write_text(
        ("user root;\n" if os.geteuid() == 0 else "")
        + f"daemon off;\nworker_processes 1;\npid {top}/nginx.pid;\nerror_log {top}/error.log;\n"
        "events { worker_connections 64; }\n"
        f"http {{ include {TYPES}; default_type application/octet-stream; access_log off; {paths}\n"
        f"include {top}/records.conf; }}\n"
    )
    assert NGINX is not None
    command = [NGINX, "-p", str(top), "-e", f"{top}/error.log", "-c", f"{top}/nginx.conf"]
    tried = subprocess.run([*command, "-t"], capture_output=True, text=True, check=False)
    assert tried.returncode == 0, tried.stderr
    process = subprocess.Popen(command)
    try:
        for _ in range(200):
            with socket.socket() as caller:
                if caller.connect_ex(("127.0.0.1", port)) == 0:
                    break
            time.sleep(0.05)
        yield Server(port, www)
    finally:
        process.terminate()
        process.wait(20)


def test_without_a_password_nothing_is_shown(server: Server) -> None:
    for path in ("/", "/harbour/index.html", "/assets/asbuilt.css", "/nothing.html"):
        for password in (None, "wrong"):
            answer = server.asked(path, password=password)
            assert answer.code == 401, path
            assert answer.headers["WWW-Authenticate"].startswith('Basic realm="Records"')
            assert b"arbour" not in answer.body


def test_with_it_every_file_is_as_it_was_built(server: Server) -> None:
    files = [path for path in server.www.rglob("*") if path.is_file() and not path.is_symlink()]
    shown = 0
    for path in files:
        name = path.relative_to(server.www).as_posix()
        if not any(part.startswith(".") for part in name.split("/")):
            answer = server.asked(f"/{name}")
            assert (answer.code, answer.body) == (200, path.read_bytes()), name
            shown += 1
    assert shown > 40
    assert server.asked("/").body == (server.www / "index.html").read_bytes()
    assert server.asked("/harbour").headers["Location"] == "/harbour/"


@pytest.mark.parametrize(
    ("path", "password", "code"),
    [("/harbour/index.html", PASSWORD, 200), ("/nothing.html", PASSWORD, 404),
     ("/", None, 401), ("/assets/", PASSWORD, 403)],
)  # fmt: skip
def test_every_answer_has_its_headers(
    server: Server, path: str, password: str | None, code: int
) -> None:
    answer = server.asked(path, password=password)
    assert answer.code == code
    assert {name: answer.headers.get(name) for name in HEADERS} == HEADERS
    assert answer.headers["Server"] == "nginx"  # and no version


def test_a_folder_without_a_page_is_not_listed(server: Server) -> None:
    answer = server.asked("/assets/")
    assert answer.code == 403
    assert b"asbuilt.css" not in answer.body


def test_what_begins_with_a_dot_is_not_there(server: Server) -> None:
    assert (server.www / ".asbuilt").is_file()
    for path in ("/.asbuilt", "/%2easbuilt", "/harbour/../.asbuilt", "//.asbuilt", "/.git/config",
                 "/harbour/.anything"):  # fmt: skip
        answer = server.asked(path)
        assert answer.code == 404, path
        assert b"internal" not in answer.body
        assert SECRET.encode() not in answer.body


def test_no_way_leads_out_of_the_folder(server: Server) -> None:
    """Forms of path traversal as OWASP lists them."""
    ups = ("../", "..%2f", "%2e%2e/", "%2e%2e%2f", "..%5c", "..%252f", "..%c0%af", "....//", "..;/")
    for up in ups:
        for path in (f"/{up}secret.txt", f"/harbour/{up}{up}secret.txt",
                     f"/harbour/{up}{up}{up}{up}{up}{up}{up}{up}etc/passwd"):  # fmt: skip
            answer = server.asked(path)
            assert answer.code in (400, 404), path
            assert SECRET.encode() not in answer.body
            assert b"root:" not in answer.body
    assert server.asked("/link.txt").code == 403


def test_nothing_can_be_sent(server: Server) -> None:
    for method in ("POST", "PUT", "DELETE", "PATCH", "OPTIONS", "TRACE"):
        assert server.asked("/index.html", method).code == 405, method
    assert server.asked("/index.html", "HEAD").code == 200


def test_pages_travel_small(server: Server) -> None:
    for name in ("harbour/index.html", "assets/asbuilt.css", "harbour/search/search_index.js"):
        answer = server.asked(f"/{name}", Accept_Encoding="gzip")
        plain = (server.www / name).read_bytes()
        assert answer.headers["Content-Encoding"] == "gzip", name
        assert gzip.decompress(answer.body) == plain
        assert len(answer.body) < len(plain) / 2


@needs_browser
@pytest.mark.browser
def test_a_browser_reads_and_searches_it(server: Server) -> None:
    here = f"127.0.0.1:{server.port}"
    with browser() as driver:
        driver.get(f"http://quist:{PASSWORD.replace(' ', '%20')}@{here}/harbour/index.html")
        driver.get(f"http://{here}/harbour/index.html")
        box = driver.find_element(By.CSS_SELECTOR, "input.md-search__input")
        driver.execute_script("document.querySelector('#__search').click()")
        WebDriverWait(driver, 10).until(lambda _: box.is_displayed())
        box.send_keys("1A-A01")
        WebDriverWait(driver, 20).until(
            lambda _: driver.find_elements(By.CSS_SELECTOR, ".md-search-result__item")
        )
        assert complaints(driver) == []
        urls = [url for url in requested(driver) if url.startswith(("http", "ws"))]
        assert len(urls) > 5
        assert {url.split("/")[2].rpartition("@")[2] for url in urls} == {here}
