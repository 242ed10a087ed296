"""Tunes: melody, chords, words, metre and key; knows nothing of banjos."""
