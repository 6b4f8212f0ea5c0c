"""Ways to look for a fingering: the player's strategies and what tells them apart.

Ground: `analysis.pitch` only. Strategies are the trade's own (common practice, from memory).
"""

from analysis.finder.strategies import Strategy, recognise_strategy

__all__ = ["Strategy", "recognise_strategy"]
