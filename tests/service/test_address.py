from __future__ import annotations

import pytest

from coach.errors import InputError
from coach.service.address import PublicAddress, read_address


@pytest.mark.parametrize(
    ("text", "host", "origin"),
    [
        ("https://banjo.example", "banjo.example", "https://banjo.example"),
        ("https://Banjo.example/", "banjo.example", "https://banjo.example"),
        ("https://banjo.example:443", "banjo.example", "https://banjo.example"),
        ("https://banjo.example:8443/", "banjo.example", "https://banjo.example:8443"),
        ("http://banjo.example:80", "banjo.example", "http://banjo.example"),
        ("https://[2001:db8::1]:8443", "2001:db8::1", "https://[2001:db8::1]:8443"),
    ],
)
def test_an_address_is_a_host_and_the_origin_that_browsers_tell(text: str, host: str, origin: str) -> None:
    address = read_address(text)

    assert address == PublicAddress(host, origin)
    assert address.is_secure == text.startswith("https")


@pytest.mark.parametrize(
    "text",
    [
        "",
        "banjo.example",
        "ftp://banjo.example",
        "https://",
        "https://[x]",
        "https://banjo.example:x",
        "https://banjo.example:65536",
        "https://me@banjo.example",
        "https://bänjo.example",
    ],
)
def test_what_is_no_address_is_refused_with_an_example(text: str) -> None:
    with pytest.raises(InputError, match=r"is no address of a service; write it like https://banjo\.example"):
        read_address(text)


@pytest.mark.parametrize("rest", ["/practice", "/?a=b", "/#there"])
def test_an_address_below_another_one_is_refused(rest: str) -> None:
    with pytest.raises(InputError, match=r"more than a host.*name banjo\.example alone"):
        read_address(f"https://banjo.example{rest}")
