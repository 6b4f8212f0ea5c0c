"""Where the player's folder lies; loads no database, so that a command may ask quickly."""

import os
from pathlib import Path

from platformdirs import user_data_path

INSTANCE_VARIABLE = "QUARTERVENT_INSTANCE"
CACHE_FOLDER = "cache"
_ROOT = Path(__file__).resolve().parents[3]


def default_folder() -> Path:
    """Return the player's folder: the variable's, else instance/ of a checkout, else the user's."""
    named = os.environ.get(INSTANCE_VARIABLE)
    if named:
        return Path(named).expanduser()
    if (_ROOT / "pyproject.toml").is_file():
        return _ROOT / "instance"
    return user_data_path("quartervent", appauthor=False)
