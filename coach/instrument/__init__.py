"""The instrument: tunings, fretboard, hands, rolls and chord shapes."""
