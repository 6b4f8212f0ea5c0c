"""Guards: what every request passes before a page sees it."""
