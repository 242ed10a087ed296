"""The stores that these tests are about."""

from __future__ import annotations

from stores import empty_file, on_server, open_store, postgres, store, tables, url

__all__ = ["empty_file", "on_server", "open_store", "postgres", "store", "tables", "url"]
