"""`quartervent shortcut`: what is written for each system, looked at by its content.

Formats: Desktop Entry Specification 1.5; property list and icns (Apple); ico (Microsoft). macOS and
Windows themselves are not run here: their files are read back, and the script is compared.
"""

import plistlib
import struct
import subprocess
from pathlib import Path

import pytest

from webapp.cli import serve as serving
from webapp.cli.shortcut import LARGE, MIDDLE, LauncherHome, make_ico, write_shortcut
from webapp.notebook.store.folder_lock import hold_folder

PNG = b"\x89PNG\r\n\x1a\n"


def test_linux_gets_a_desktop_entry_with_our_icon(tmp_path: Path) -> None:
    made = write_shortcut("linux", LauncherHome(tmp_path, {}), "/opt/my apps/$1/python")
    assert made == tmp_path / ".local/share/applications/quartervent.desktop"
    lines = made.read_text("utf-8").splitlines()
    assert lines[0] == "[Desktop Entry]"
    entry = dict(line.split("=", 1) for line in lines[1:])
    assert (entry["Type"], entry["Name"], entry["Terminal"]) == (
        "Application",
        "Quartervent",
        "false",
    )
    assert entry["Exec"] == '"/opt/my apps/\\\\$1/python" -m webapp serve'
    assert Path(entry["Icon"]).read_bytes().startswith(PNG)
    elsewhere = write_shortcut(
        "linux", LauncherHome(tmp_path, {"XDG_DATA_HOME": str(tmp_path)}), "py"
    )
    assert elsewhere == tmp_path / "applications/quartervent.desktop"


def test_macos_gets_an_application_that_starts_the_notebook(tmp_path: Path) -> None:
    made = write_shortcut("darwin", LauncherHome(tmp_path, {}), "/Users/o'neil/python")
    assert made == tmp_path / "Applications/Quartervent.app"
    described = plistlib.loads((made / "Contents/Info.plist").read_bytes())
    program = made / "Contents/MacOS" / described["CFBundleExecutable"]
    assert program.stat().st_mode & 0o111
    told = "set -- -c 'exit 0'\nprintf %s " + program.read_text("utf-8").splitlines()[1][5:]
    shell = subprocess.run(["/bin/sh", "-c", told], capture_output=True, text=True, check=True)
    assert shell.stdout == "/Users/o'neil/python-mwebappserve"  # as the shell takes it apart
    icon = (made / "Contents/Resources" / f"{described['CFBundleIconFile']}.icns").read_bytes()
    kind, length = struct.unpack(">4sI", icon[:8])
    assert (kind, length) == (b"icns", len(icon))
    assert icon[8:12] == b"ic09"
    assert icon[16:] == LARGE.read_bytes()


def test_windows_gets_a_shortcut_in_the_start_menu(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    asked: list[list[str]] = []
    monkeypatch.setattr(subprocess, "run", lambda words, **_: asked.append(words))
    python = tmp_path / "it's" / "python.exe"
    python.parent.mkdir()
    (python.parent / "pythonw.exe").touch()
    made = write_shortcut("win32", LauncherHome(tmp_path, {}), str(python))
    assert made.name == "Quartervent.lnk"
    assert made.parent == tmp_path / "AppData/Roaming/Microsoft/Windows/Start Menu/Programs"
    assert made.parent.is_dir()
    ((program, *_, script),) = asked
    assert program == "powershell"
    assert f"CreateShortcut('{str(made).replace(chr(39), chr(39) * 2)}')" in script
    assert "it''s" in script
    assert "pythonw.exe'; $s.Arguments = '-m webapp serve'" in script
    icon = (tmp_path / "AppData/Local/Quartervent/quartervent.ico").read_bytes()
    assert icon == make_ico(MIDDLE.read_bytes(), 192)
    length, offset = struct.unpack("<II", icon[14:22])
    assert icon[offset : offset + length] == MIDDLE.read_bytes()


def test_a_notebook_that_is_open_already_is_shown_instead(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    shown: list[str] = []

    def show(address: str) -> bool:
        shown.append(address)
        return True

    monkeypatch.setattr(serving, "open_browser", show)
    monkeypatch.setenv("QUARTERVENT_INSTANCE", str(tmp_path))
    command = serving.serve
    with hold_folder(tmp_path, "serve") as held:
        held.tell(what="serve", address="http://127.0.0.1:9/")
        command.main([], standalone_mode=False)
        assert shown == ["http://127.0.0.1:9/"]
        assert "is open already at http://127.0.0.1:9/" in capsys.readouterr().out
        with pytest.raises(Exception, match="open already"):
            command.main(["--no-browser"], standalone_mode=False)
    assert shown == ["http://127.0.0.1:9/"]
