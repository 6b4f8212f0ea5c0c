"""Instruments and their keywork."""
