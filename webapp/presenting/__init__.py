"""Words and pictures for the templates."""
