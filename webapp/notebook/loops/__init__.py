"""Two-note loops: recordings of a slur back and forth, and the figure of each pair."""
