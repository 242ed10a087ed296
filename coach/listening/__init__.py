"""Listening: heard notes become verdicts, passages and measure scores; no clock, no MIDI library, no socket."""
