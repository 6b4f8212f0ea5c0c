"""One verb each: a service takes the notebook, does one thing in one transaction, and reports it.

Rows that a service returns are detached: what a page needs is loaded, everything else raises.
"""
