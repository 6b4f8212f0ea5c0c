"""The player's browser, opened where there is a screen to open it on."""

import os
import sys
import threading
import webbrowser
from collections.abc import Mapping

_SCREENS = ("DISPLAY", "WAYLAND_DISPLAY")


def has_screen(system: str = sys.platform, environment: Mapping[str, str] = os.environ) -> bool:
    """Whether a window can be opened: always on Windows and macOS, elsewhere with a display.

    >>> has_screen("linux", {}), has_screen("linux", {"DISPLAY": ":0"}), has_screen("win32", {})
    (False, True, True)
    """
    return system in ("win32", "darwin") or any(environment.get(name) for name in _SCREENS)


def open_browser(address: str) -> bool:
    """Open an address in the browser without waiting for it; False where there is no screen."""
    if not has_screen():
        return False
    threading.Thread(target=webbrowser.open, args=(address,), daemon=True).start()
    return True
