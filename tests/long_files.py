"""The test files that take longest, the longest first: a worker that begins one late ends late."""

LONG_FILES = ("browser/test_access.py",)
