"""`python -m webapp` is `quartervent`."""

from webapp.cli import main

main()
