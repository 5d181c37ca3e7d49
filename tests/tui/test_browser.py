"""The composing screen in real Chromium: a key reaches the program, another site's page does not.

Chromium and its driver may be missing: the tests that need them skip, and say so.
"""

import asyncio
import os
import shutil
import signal
import socket
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path
from types import SimpleNamespace

import aiohttp
import pytest
from click.testing import CliRunner

from composer.errors import ComposerError
from composer.files.routine_file import load_routine, save_routine
from tui.browser.serving import is_loopback, own_origins
from tui.commands.browser import command

CHROMIUM, DRIVER = shutil.which("chromium"), shutil.which("chromedriver")
WAIT_S = 30


@pytest.fixture
def served(piece: SimpleNamespace, tmp_path: Path) -> Iterator[SimpleNamespace]:
    """A routine served on a free port of this machine: its file and its address."""
    path = tmp_path / "piece.toml"
    save_routine(piece.routine_of(), path)
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port = probe.getsockname()[1]
    arguments = [sys.executable, "-m", "tui.main", "browser", str(path), "--port", str(port)]
    server = subprocess.Popen(
        arguments, stdout=subprocess.PIPE, text=True, env=os.environ | {"PYTHONUNBUFFERED": "1"}
    )
    assert server.stdout is not None
    line = server.stdout.readline()
    assert f"http://127.0.0.1:{port}" in line
    yield SimpleNamespace(path=path, address=f"http://127.0.0.1:{port}", port=port)
    server.send_signal(signal.SIGINT)
    server.wait(WAIT_S)


@pytest.mark.skipif(not (CHROMIUM and DRIVER), reason="Chromium or its driver is not installed")
def test_keys_pressed_in_a_browser_place_a_move_and_save_it(served: SimpleNamespace) -> None:
    from selenium import webdriver

    options = webdriver.ChromeOptions()
    options.binary_location = CHROMIUM
    for argument in ("--headless=new", "--no-sandbox", "--disable-dev-shm-usage"):
        options.add_argument(argument)
    browser = webdriver.Chrome(options=options, service=webdriver.ChromeService(DRIVER))
    try:
        browser.get(served.address)
        until(
            lambda: "-first-byte" in browser.find_element("tag name", "body").get_attribute("class")
        )
        resources = "return performance.getEntriesByType('resource').map(one => one.name)"
        assert all(name.startswith(served.address) for name in browser.execute_script(resources))
        keys = browser.find_element("css selector", ".xterm-helper-textarea")
        # The screen may still be opening when its first byte comes: keys are kept until it is up.
        keys.send_keys("1\x13")
        until(lambda: len(load_routine(served.path).part("Wren").placements) == 1)
    finally:
        browser.quit()


def until(holds: "object") -> None:
    end_s = time.monotonic() + WAIT_S
    while not holds():  # type: ignore[operator]
        assert time.monotonic() < end_s, "nothing came of it"
        time.sleep(0.1)


@pytest.mark.parametrize("origin", ["http://elsewhere.example", "null", None])
def test_a_page_of_another_site_cannot_send_keys(
    served: SimpleNamespace, origin: str | None
) -> None:
    """Browsers name the page that opens a WebSocket in Origin (RFC 6455, 10.2); 403 is refused."""

    async def knock() -> int:
        headers = {} if origin is None else {"Origin": origin}
        async with aiohttp.ClientSession() as session:
            try:
                async with session.ws_connect(f"{served.address}/ws", headers=headers):
                    return 101
            except aiohttp.WSServerHandshakeError as error:
                return error.status

    assert asyncio.run(knock()) == 403


def test_only_this_machine_is_listened_to_unless_asked() -> None:
    assert is_loopback("127.0.0.1")
    assert not is_loopback("192.0.2.7")
    assert own_origins("127.0.0.1", 80)[0] == "http://127.0.0.1"
    assert own_origins("2001:db8::7", 8000) == ("http://[2001:db8::7]:8000",)


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (["gone.toml"], "gone.toml is not there"),
        (["--address", "my-machine"], "address of this machine such as 127.0.0.1"),
    ],
)
def test_what_cannot_be_served_is_one_line(arguments: list[str], words: str) -> None:
    result = CliRunner().invoke(command, arguments)
    assert isinstance(result.exception, ComposerError)
    assert words in str(result.exception)
    assert "\n" not in str(result.exception)


def test_a_port_that_is_taken_is_one_line() -> None:
    with socket.socket() as holder:
        holder.bind(("127.0.0.1", 0))
        holder.listen()
        result = CliRunner().invoke(command, ["--port", str(holder.getsockname()[1])])
    assert isinstance(result.exception, ComposerError)
    assert "choose another with --port" in str(result.exception)


def test_without_the_extra_it_says_what_to_install(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "tui.browser.serving", None)
    result = CliRunner().invoke(command, [])
    assert isinstance(result.exception, ComposerError)
    assert 'pip install "petalbar[browser]"' in str(result.exception)
