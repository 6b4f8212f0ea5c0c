"""The tests of data that run on SQLite and on PostgreSQL: whole files, chosen for what they write.

In them every test that has a notebook is run twice, with its first example on PostgreSQL; with all
of them, and in more files, in the long run. What is about SQLite itself stands in files of its own.
"""

ENGINES = ("sqlite", "postgresql")
ON_BOTH = (
    "webapp/notebook/preferences/test_preferences.py",
    "webapp/notebook/store/test_at_once.py",
    "webapp/notebook/store/test_changes.py",
    "webapp/notebook/store/test_claims.py",
    "webapp/notebook/store/test_migration_0008.py",
    "webapp/notebook/takes/test_evidence_days.py",
    "webapp/notebook/takes/test_takes.py",
)
IN_THE_LONG_RUN = (
    "webapp/notebook/entry/test_*.py",
    "webapp/notebook/exchange/test_exchange.py",
    "webapp/notebook/fingerings/test_*.py",
    "webapp/notebook/pieces/test_*.py",
    "webapp/notebook/practice/test_*.py",
    "webapp/notebook/recordings/test_*.py",
    "webapp/notebook/safekeeping/test_bin.py",
    "webapp/notebook/takes/test_*.py",
    "webapp/notebook/targets/test_choices.py",
    "webapp/notebook/targets/test_search.py",
)
