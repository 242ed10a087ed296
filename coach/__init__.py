"""The practice coach: from a vocal tune and its chords to a scored pass on the five-string banjo."""
