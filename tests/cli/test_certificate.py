"""``coach serve --certfile --keyfile``: page and wire over https, and words for what is wrong with the files."""

from __future__ import annotations

import asyncio
import contextlib
import json
import os
import signal
import ssl
import subprocess
import sys
import urllib.request
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
import trustme
import websockets
from cryptography import x509
from cryptography.hazmat.primitives import serialization
from cryptography.hazmat.primitives.asymmetric import rsa
from cryptography.hazmat.primitives.hashes import SHA256
from cryptography.hazmat.primitives.serialization import Encoding, NoEncryption, PrivateFormat
from cryptography.x509.oid import NameOID

from coach.cli.certificate import certificate
from coach.errors import InputError


@pytest.fixture(scope="module")
def authority() -> trustme.CA:
    return trustme.CA()


@pytest.fixture(scope="module")
def files(authority: trustme.CA, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with a certificate of this computer, its key and other files."""
    folder = tmp_path_factory.mktemp("certificates")
    here, other = authority.issue_cert("localhost", "127.0.0.1"), authority.issue_cert("localhost")
    here.cert_chain_pems[0].write_to_path(str(folder / "cert.pem"))
    here.private_key_pem.write_to_path(str(folder / "key.pem"))
    here.private_key_and_cert_chain_pem.write_to_path(str(folder / "both.pem"))
    other.private_key_pem.write_to_path(str(folder / "other.pem"))
    key = serialization.load_pem_private_key(here.private_key_pem.bytes(), None)
    locked = key.private_bytes(
        serialization.Encoding.PEM,
        serialization.PrivateFormat.PKCS8,
        serialization.BestAvailableEncryption(b"a secret"),
    )
    (folder / "locked.pem").write_bytes(locked)
    (folder / "words.txt").write_text("no certificate\n", "utf-8")
    return folder


def test_no_certificate_is_none_and_the_key_may_be_in_its_file(files: Path) -> None:
    assert certificate(None, None) is None

    made = certificate(files / "both.pem", None)

    assert made is not None
    assert made.keyfile == files / "both.pem"


def test_a_weak_certificate_is_told_from_one_that_cannot_be_read(tmp_path: Path) -> None:
    """1024 bits are too few for level 2 of SSL_CTX_set_security_level(3), where Python's ssl begins (from memory)."""
    name = x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, "localhost")])
    key = rsa.generate_private_key(65537, 1024)
    day = datetime(2026, 1, 1, tzinfo=UTC)
    builder = x509.CertificateBuilder(name, name, key.public_key(), 1, day, day + timedelta(days=1))
    (tmp_path / "weak.pem").write_bytes(
        key.private_bytes(Encoding.PEM, PrivateFormat.PKCS8, NoEncryption())
        + builder.sign(key, SHA256()).public_bytes(Encoding.PEM)
    )

    with pytest.raises(InputError, match=r"weak\.pem: the certificate is weaker than is allowed here; make one with"):
        certificate(tmp_path / "weak.pem", None)


@pytest.mark.parametrize(
    ("cert", "key", "words"),
    [
        ("gone.pem", "key.pem", "gone.pem: the file cannot be opened (No such file or directory); check its name"),
        ("cert.pem", "gone.pem", "gone.pem: the file cannot be opened (No such file or directory); check its name"),
        ("cert.pem", "other.pem", "other.pem: the key is not that of the certificate"),
        ("cert.pem", None, "cert.pem: there is no key in it that can be read; give a certificate and its key"),
        ("cert.pem", "words.txt", "words.txt: there is no key in it that can be read"),
        ("words.txt", "key.pem", "words.txt: there is no certificate in it that can be read"),
        ("key.pem", "key.pem", "key.pem: there is no certificate in it that can be read"),
        ("cert.pem", "locked.pem", "locked.pem: the key is locked by a passphrase; give one that is not"),
        (None, "key.pem", "--keyfile: a key says nothing without its certificate; add --certfile"),
    ],
)
def test_what_is_wrong_with_the_files_is_said_in_one_sentence(
    files: Path, cert: str | None, key: str | None, words: str
) -> None:
    with pytest.raises(InputError) as refused:
        certificate(None if cert is None else files / cert, None if key is None else files / key)

    assert words in str(refused.value)
    assert "\n" not in str(refused.value)


def serving(files: Path, data: Path, key: str) -> list[str]:
    """The command that serves with the certificate and a key."""
    certified = ["--certfile", str(files / "cert.pem"), "--keyfile", str(files / key)]
    return [sys.executable, "-m", "coach", "serve", "--port", "0", "--data", str(data), *certified]


def test_a_certificate_that_does_not_fit_ends_the_command_before_anything_is_begun(files: Path, tmp_path: Path) -> None:
    found = subprocess.run(
        serving(files, tmp_path / "data", "other.pem"),
        capture_output=True,
        text=True,
        check=False,
    )

    assert found.returncode == 2
    assert found.stdout == ""
    assert found.stderr.count("\n") == 1
    assert "the key is not that of the certificate" in found.stderr
    assert not (tmp_path / "data").exists()


@contextlib.contextmanager
def secured(files: Path, data: Path) -> Iterator[str]:
    """A service over https, in a process of its own; gives its address."""
    process = subprocess.Popen(
        serving(files, data, "key.pem"),
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        env={**os.environ, "JACK_DEFAULT_SERVER": "no-such-server"},
    )
    try:
        assert process.stdout is not None
        line = process.stdout.readline()
        assert line.startswith("Open https://127.0.0.1:"), process.communicate()
        yield line.split()[1]
        process.send_signal(signal.SIGINT)
        _, said = process.communicate(timeout=30)
        assert (process.returncode, said) == (0, "")
    finally:
        if process.poll() is None:
            process.kill()
            process.communicate()


def test_page_and_wire_are_served_over_https(files: Path, authority: trustme.CA, tmp_path: Path) -> None:
    trusting = ssl.create_default_context()
    authority.configure_trust(trusting)

    async def join(address: str) -> Any:
        url = address.replace("https", "wss") + "ws"
        origin = websockets.Origin(address.rstrip("/"))
        async with websockets.connect(
            url, ssl=trusting, subprotocols=[websockets.Subprotocol("coach.1")], origin=origin
        ) as wire:
            await wire.send(json.dumps({"kind": "join", "session": "home", "seat": "pad"}))
            return json.loads(await wire.recv())

    with secured(files, tmp_path / "data") as address:
        with urllib.request.urlopen(address, context=trusting) as page:
            assert page.status == 200
            assert b"Banjo practice coach" in page.read()
        assert asyncio.run(join(address))["kind"] == "hello"
        with pytest.raises(OSError, match="CERTIFICATE_VERIFY_FAILED"):
            urllib.request.urlopen(address)
