"""Sandboxed child processes: one untrusted job each, with limits that the child sets itself.

`child_processes` is the parent's side (start, hand over, wait, judge how it ended), `limits` the
child's (processor time, memory, output). It stands alone, so that a child starts fast.
"""
