"""Sheets: an arrangement on paper and in open formats."""
