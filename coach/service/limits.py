"""How often something may be tried, by where it comes from or whom it is about."""

from __future__ import annotations

import ipaddress
from collections import OrderedDict

from starlette.exceptions import HTTPException
from starlette.requests import HTTPConnection

from coach.service.clock import Now
from coach.service.link import TokenBucket

__all__ = ["Limit", "caller"]

MOST_KEYS = 10_000
"""Keys that are remembered: the one that was asked for longest ago is forgotten first."""


class Limit:
    """So many tries in so many seconds, for each key.

    Args:
        many: tries at once, and in each stretch of ``seconds`` in the long run.
        seconds: of the stretch.
        now: the clock.
    """

    def __init__(self, many: int, seconds: float, now: Now) -> None:
        self._many = many
        self._seconds = seconds
        self._now = now
        self._buckets: OrderedDict[str, TokenBucket] = OrderedDict()

    def take(self, key: str) -> None:
        """Count one try.

        Raises:
            HTTPException: 429 when there were too many.
        """
        bucket = self._buckets.get(key)
        if bucket is None:
            bucket = self._buckets[key] = TokenBucket(self._many / self._seconds, self._many, self._now)
            if len(self._buckets) > MOST_KEYS:
                self._buckets.popitem(last=False)
        self._buckets.move_to_end(key)
        if not bucket.take():
            wait = max(1, round(self._seconds / self._many))
            raise HTTPException(
                429, f"This was tried too often; wait {wait} seconds, then try again.", {"Retry-After": str(wait)}
            )


def caller(connection: HTTPConnection) -> str:
    """Where a call comes from, as limits count it: an address, of IPv6 the /64 that one household has."""
    host = connection.client.host if connection.client is not None else ""
    try:
        address = ipaddress.ip_address(host)
    except ValueError:
        return host
    if isinstance(address, ipaddress.IPv6Address) and address.ipv4_mapped is None:
        return str(ipaddress.ip_network((address, 64), strict=False))
    return host
