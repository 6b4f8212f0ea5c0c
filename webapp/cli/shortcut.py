"""`quartervent shortcut`: a launcher with the notebook's icon, in the form of this system.

It starts `quartervent serve`, which opens the browser. Sources: Desktop Entry Specification 1.5
(freedesktop.org) for Linux; Bundle Programming Guide and the icns container (Apple) for macOS; the
Windows Script Host's shortcut object and the ico container (Microsoft) for Windows.
"""

import os
import plistlib
import struct
import subprocess
import sys
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

import click

NAME = "Quartervent"
COMMENT = "Fingering notebook for clarinettists"
ICONS = Path(__file__).parents[1] / "static" / "icons"
LARGE, MIDDLE = ICONS / "icon-512.png", ICONS / "icon-192.png"
_ICNS_512 = b"ic09"
_MIDDLE_PIXELS = 192


@dataclass(frozen=True, slots=True)
class LauncherHome:
    """Where launchers go: the player's home and the environment of the system."""

    home: Path
    environment: Mapping[str, str]

    def named(self, variable: str, otherwise: str) -> Path:
        """Return the folder that a variable names, else one below the home."""
        return Path(self.environment.get(variable) or self.home / otherwise)


@click.command()
def shortcut() -> None:
    """Write a launcher with the notebook's icon, so that it starts without a terminal."""
    try:
        made = write_shortcut(sys.platform, LauncherHome(Path.home(), os.environ), sys.executable)
    except (OSError, subprocess.SubprocessError) as error:
        raise click.ClickException(f"The launcher could not be written: {error}") from error
    click.echo(f"The launcher is {made}. It opens the notebook in your browser.")


def write_shortcut(system: str, place: LauncherHome, python: str) -> Path:
    """Write the launcher of a system and return where it is.

    Args:
        system: as `sys.platform` names it.
        place: home and environment.
        python: path of the interpreter that has this program.

    Raises:
        OSError: a file cannot be written.
        subprocess.SubprocessError: Windows could not make the shortcut.
    """
    if system == "darwin":
        return _write_application(place, python)
    if system == "win32":
        return _write_start_menu(place, python)
    return _write_desktop_entry(place, python)


def _write_desktop_entry(place: LauncherHome, python: str) -> Path:
    folder = place.named("XDG_DATA_HOME", ".local/share") / "applications"
    folder.mkdir(parents=True, exist_ok=True)
    made = folder / "quartervent.desktop"
    lines = (
        "[Desktop Entry]",
        "Type=Application",
        "Version=1.5",
        f"Name={NAME}",
        f"Comment={COMMENT}",
        f"Exec={quote_exec(python)} -m webapp serve",
        f"Icon={LARGE}",
        "Terminal=false",
        "Categories=AudioVideo;Audio;Music;Education;",
    )
    made.write_text("\n".join(lines) + "\n", "utf-8")
    made.chmod(0o755)
    return made


def quote_exec(path: str) -> str:
    """Quote a path for the key Exec: reserved characters escaped, per cent signs doubled.

    >>> quote_exec('/home/a b/50%/python')
    '"/home/a b/50%%/python"'
    """
    escaped = "".join(f"\\{each}" if each in '"`$\\' else each for each in path)
    # The value as a whole is a string of the file, where a backslash is doubled once more.
    return '"' + escaped.replace("\\", "\\\\").replace("%", "%%") + '"'


def _write_application(place: LauncherHome, python: str) -> Path:
    made = place.home / "Applications" / f"{NAME}.app"
    contents = made / "Contents"
    for name in ("MacOS", "Resources"):
        (contents / name).mkdir(parents=True, exist_ok=True)
    described = {
        "CFBundleName": NAME,
        "CFBundleIdentifier": "local.quartervent.launcher",
        "CFBundlePackageType": "APPL",
        "CFBundleVersion": "1",
        "CFBundleExecutable": "quartervent",
        "CFBundleIconFile": "quartervent",
        "LSUIElement": True,  # it has no window of its own
    }
    (contents / "Info.plist").write_bytes(plistlib.dumps(described))
    (contents / "Resources" / "quartervent.icns").write_bytes(make_icns(LARGE.read_bytes()))
    program = contents / "MacOS" / "quartervent"
    quoted = "'" + python.replace("'", "'\\''") + "'"
    program.write_text(f"#!/bin/sh\nexec {quoted} -m webapp serve\n", "utf-8")
    program.chmod(0o755)
    return made


def make_icns(png: bytes) -> bytes:
    """Wrap a PNG of 512 pixels in the icns container: kinds and lengths, big-endian."""
    entry = _ICNS_512 + struct.pack(">I", len(png) + 8) + png
    return b"icns" + struct.pack(">I", len(entry) + 8) + entry


def _write_start_menu(place: LauncherHome, python: str) -> Path:
    roaming = place.named("APPDATA", "AppData/Roaming")
    menu = roaming / "Microsoft" / "Windows" / "Start Menu" / "Programs"
    icon = place.named("LOCALAPPDATA", "AppData/Local") / NAME / "quartervent.ico"
    for folder in (menu, icon.parent):
        folder.mkdir(parents=True, exist_ok=True)
    icon.write_bytes(make_ico(MIDDLE.read_bytes(), _MIDDLE_PIXELS))
    made = menu / f"{NAME}.lnk"
    script = shortcut_script(made, Path(python), icon)
    subprocess.run(["powershell", "-NoProfile", "-Command", script], check=True, timeout=60)
    return made


def make_ico(png: bytes, pixels: int) -> bytes:
    """Wrap a PNG of up to 255 pixels in the ico container: one entry, little-endian."""
    head = struct.pack("<HHH", 0, 1, 1)
    entry = struct.pack("<BBBBHHII", pixels, pixels, 0, 0, 1, 32, len(png), 22)
    return head + entry + png


def shortcut_script(made: Path, python: Path, icon: Path) -> str:
    """Return the PowerShell script that makes a shortcut, without a console where it can."""
    windowless = python.with_name("pythonw.exe")
    target = windowless if windowless.exists() else python
    values = {
        "TargetPath": str(target),
        "Arguments": "-m webapp serve",
        "IconLocation": str(icon),
        "Description": COMMENT,
    }
    settings = "".join(f"$s.{name} = {_quoted(value)}; " for name, value in values.items())
    return (
        f"$s = (New-Object -ComObject WScript.Shell).CreateShortcut({_quoted(str(made))}); "
        f"{settings}$s.Save()"
    )


def _quoted(text: str) -> str:
    doubled = text.replace("'", "''")
    return f"'{doubled}'"
