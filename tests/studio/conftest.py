"""The stores of the records' tests."""

from __future__ import annotations

from stores import empty_file, open_store, postgres, store, tables

__all__ = ["empty_file", "open_store", "postgres", "store", "tables"]
