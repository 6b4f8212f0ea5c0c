"""Property tests without a clock and without chance: the same examples on every machine."""

from hypothesis import settings

settings.register_profile("steady", deadline=None, derandomize=True)
settings.load_profile("steady")
