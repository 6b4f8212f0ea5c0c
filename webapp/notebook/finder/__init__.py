"""Suggestions, plans and the try list: what to try next, and why."""
