"""Charts of fingerings, as PDF."""
