"""Fingerings: logging, changing, comparing and linking them."""
