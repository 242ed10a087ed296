"""The service behind nginx, by the configuration that README shows: page, wire, uploads and addresses go through it."""

from __future__ import annotations

import re
import shutil
import socket
import ssl
import subprocess
from collections.abc import Callable, Iterator
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import httpx
import pytest
import trustme
from browser_midi import as_written, connect, play_along, plug, solo_of
from playwright.sync_api import Page, expect
from real_parts import PATIENCE, ROOT, Lines, Served
from websockets import Origin
from websockets.exceptions import InvalidStatus
from websockets.sync.client import connect as connect_to

from coach.service.pages import SLOW_GAP

NAME = "banjo.example"
TEMPO = 120
LAST = 2
AROUND = """
daemon off;
{user}
worker_processes 1;
pid {folder}/nginx.pid;
error_log stderr notice;
events {{ worker_connections 1024; }}
http {{
    access_log off;
    include /etc/nginx/mime.types;
    client_body_temp_path {folder}/body;
    proxy_temp_path {folder}/proxy;
    fastcgi_temp_path {folder}/fastcgi;
    uwsgi_temp_path {folder}/uwsgi;
    scgi_temp_path {folder}/scgi;
    include {folder}/site.conf;
}}
"""


def shown() -> str:
    """The configuration in README."""
    found = re.search(
        r"<!-- nginx configuration -->\n```nginx\n(.*?)```", (ROOT / "README.md").read_text("utf-8"), re.DOTALL
    )
    assert found is not None
    return found[1]


def free_port() -> int:
    with closing(socket.socket()) as found:
        found.bind(("127.0.0.1", 0))
        return int(found.getsockname()[1])


@dataclass(frozen=True)
class Behind:
    """A service behind nginx.

    Attributes:
        url: where browsers find it.
        plain: the same without https.
        here: where nginx finds it.
        trusting: knows the authority of its certificate.
        client: asks it by its name.
    """

    served: Served
    url: str
    plain: str
    here: str
    trusting: ssl.SSLContext
    client: httpx.Client


def put(text: str, old: str, new: str) -> str:
    """A configuration with one piece of it changed, which must be there."""
    assert old in text
    return text.replace(old, new)


@pytest.fixture(scope="module")
def behind(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Behind]:
    nginx = shutil.which("nginx", path="/usr/sbin:/usr/bin:/sbin:/bin")
    if nginx is None:
        pytest.fail("nginx is not installed: apt-get install -y nginx-light")
    folder = tmp_path_factory.mktemp("nginx")
    authority = trustme.CA()
    certificate = authority.issue_cert(NAME)
    certificate.private_key_and_cert_chain_pem.write_to_path(folder / "both.pem")
    secure, plain = free_port(), free_port()
    served = Served(folder / "data", "--address", f"https://{NAME}:{secure}")
    here = re.search(r"reached here at (http://127\.0\.0\.1:\d+)/;", served.said.seen[-1])
    assert here is not None

    site = put(shown(), "listen 443 ssl", f"listen 127.0.0.1:{secure} ssl")
    site = put(site, "listen 80;", f"listen 127.0.0.1:{plain};")
    site = put(site, "https://$host$request_uri", f"https://$host:{secure}$request_uri")
    site = put(site, "/etc/ssl/banjo/fullchain.pem", str(folder / "both.pem"))
    site = put(site, "/etc/ssl/banjo/key.pem", str(folder / "both.pem"))
    site = put(site, "http://127.0.0.1:8765", here[1])
    (folder / "site.conf").write_text(site)
    user = "user root;" if Path("/root").owner() == Path(folder).owner() else ""
    (folder / "nginx.conf").write_text(AROUND.format(folder=folder, user=user))
    running = subprocess.Popen(
        [nginx, "-e", "stderr", "-c", str(folder / "nginx.conf"), "-p", str(folder)], stderr=subprocess.PIPE, text=True
    )
    assert running.stderr is not None
    said = Lines(running.stderr)
    said.until("start worker process ")
    trusting = ssl.create_default_context()
    authority.configure_trust(trusting)

    def resolved(request: httpx.Request) -> None:
        """A name that no name server has."""
        request.extensions["sni_hostname"] = NAME
        request.headers["Host"] = f"{NAME}:{secure}"

    with httpx.Client(
        base_url=f"https://127.0.0.1:{secure}", verify=trusting, timeout=PATIENCE, event_hooks={"request": [resolved]}
    ) as client:
        yield Behind(served, f"https://{NAME}:{secure}", f"http://127.0.0.1:{plain}", f"{here[1]}", trusting, client)
    assert served.end() == 0
    running.terminate()
    running.wait(PATIENCE)
    assert not [
        line for line in (*served.complaints.seen, *said.rest()) if re.search(r"Traceback|\[(crit|alert|emerg)\]", line)
    ]


def test_a_page_that_comes_through_nginx_plays_a_pass_with_an_instrument_of_the_browser(
    behind: Behind, watched: Callable[..., Any]
) -> None:
    seen = watched(ignore_https_errors=True)  # the authority is unknown to the browser; it is checked below
    plug(seen)
    page: Page = seen.open(f"{behind.url}/?session=proxied")
    seen.set("tempo", TEMPO)
    seen.set("last", LAST)
    connect(seen)
    notes = as_written(solo_of(seen), TEMPO, LAST)
    play_along(seen, notes)
    expect(page.locator("#report-head")).to_be_visible()

    assert page.evaluate("isSecureContext")
    assert seen.socket.url == behind.url.replace("https", "wss") + "/ws"
    report = behind.served.report_of("proxied")
    assert {note["verdict"] for note in report["notes"]} == {"on time"}
    assert len(report["notes"]) == len(notes)


def test_the_certificate_is_that_of_the_name_and_who_comes_without_https_is_led_there(behind: Behind) -> None:
    assert behind.client.get("/healthz").json()["status"] == "ok"
    with pytest.raises(httpx.ConnectError, match="CERTIFICATE_VERIFY_FAILED"):
        httpx.get(behind.url.replace(NAME, "127.0.0.1") + "/healthz")
    led = httpx.get(f"{behind.plain}/progress.html?a=b", headers={"Host": NAME})
    assert (led.status_code, led.headers["location"]) == (301, f"{behind.url}/progress.html?a=b")


def test_files_of_all_sizes_that_are_taken_go_through_and_larger_ones_are_refused(behind: Behind) -> None:
    def bring(size: int) -> httpx.Response:
        start = b"X:1\nT:Large\nM:4/4\nL:1/4\nK:G\nGABc|\n\n"
        files = {"file": ("large.abc", start + b"%" * (size - len(start)))}
        return behind.client.post("/tunes", files=files, headers={"Origin": behind.url})

    assert bring(4_990_000).json()["title"] == "Large"
    assert (bring(5_100_000).status_code, bring(5_100_000).json()["text"]) == (
        413,
        "The file is larger than 5 MB; give a file with the tune alone.",
    )
    assert bring(6_400_000).status_code == 413


@pytest.mark.parametrize("origin", ["https://evil.example", f"http://{NAME}", "null"])
def test_pages_of_other_sites_are_refused_through_it_too(behind: Behind, origin: str) -> None:
    answer = behind.client.post("/tunes", files={"file": ("a.abc", b"X:1")}, headers={"Origin": origin})
    assert answer.status_code == 403
    port = int(behind.url.rpartition(":")[2])
    with closing(socket.create_connection(("127.0.0.1", port))) as line, pytest.raises(InvalidStatus) as refused:
        connect_to(f"wss://{NAME}:{port}/ws", sock=line, ssl=behind.trusting, origin=Origin(origin))
    assert refused.value.response.status_code == 403


def test_the_service_is_reached_by_no_other_name(behind: Behind) -> None:
    answer = httpx.get(f"{behind.here}/healthz", headers={"Host": "evil.example"})
    assert (answer.status_code, answer.json()["text"]) == (403, "This service is not called 'evil.example'.")
    assert httpx.get(f"{behind.here}/healthz").status_code == 200


def test_nginx_is_patient_for_longer_than_the_service_is_silent() -> None:
    wire = shown().partition("location = /ws")[2]
    patience = re.search(r"proxy_read_timeout (\d+)h;", wire)

    assert patience is not None
    assert int(patience[1]) * 3600 > 10 * SLOW_GAP
