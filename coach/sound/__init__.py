"""Sound: plucked-string, bass and click samples."""
