"""The composing screen in a browser, through textual-serve: for this machine only unless asked."""

import contextlib
import ipaddress
import logging
import shlex
import sys
from pathlib import Path

from aiohttp import web
from textual_serve import server as textual_server
from textual_serve.app_service import AppService
from textual_serve.server import Server

LOOPBACK_NAMES = ("127.0.0.1", "localhost", "[::1]")


class Service(AppService):
    """One program behind one page; the page is told when the program ends, however it does."""

    async def run(self) -> None:
        await super().run()
        with contextlib.suppress(ConnectionError, RuntimeError):
            await self.remote_close()


class PageServer(Server):
    """Serves one routine with a page of our own; other sites' pages cannot reach the program."""

    async def handle_websocket(self, request: web.Request) -> web.WebSocketResponse:
        """Keys come from here: only from a page that this server gave out."""
        if request.headers.get("Origin") not in own_origins(self.host, self.port):
            raise web.HTTPForbidden(text="keys are taken from this server's own page only")
        return await super().handle_websocket(request)

    async def on_startup(self, app: web.Application) -> None:
        """Nothing is said before the address is listened on."""

    def serve(self, debug: bool = False) -> None:  # noqa: ARG002
        """Serve until Ctrl-C; say where, once it can be reached."""
        logging.getLogger("textual-serve").setLevel(logging.CRITICAL)
        words = f"{self.title} is at {self.public_url}   (Ctrl-C ends it)"
        web.run_app(
            self._make_app(),
            host=self.host,
            port=self.port,
            print=lambda *_: print(words, flush=True),
        )


def own_origins(host: str, port: int) -> tuple[str, ...]:
    """What a browser says it comes from when it shows this server's page (RFC 6454)."""
    hosts = LOOPBACK_NAMES if is_loopback(host) else (bracketed(host),)
    return tuple(f"http://{name}" if port == 80 else f"http://{name}:{port}" for name in hosts)


def is_loopback(host: str) -> bool:
    """Whether an address is reached from this machine only."""
    return host == "localhost" or ipaddress.ip_address(host).is_loopback


def bracketed(host: str) -> str:
    """An address as a URL has it: that of IPv6 in brackets."""
    return f"[{host}]" if ":" in host else host


def serve(path: Path | None, host: str, port: int) -> None:
    """Serve until Ctrl-C.

    Raises
    ------
    OSError
        If the address cannot be listened on.
    """
    setattr(textual_server, "AppService", Service)  # noqa: B010  # the library asks for no other
    arguments = [sys.executable, "-m", "tui.main", "open", *([str(path)] if path else [])]
    PageServer(
        shlex.join(arguments),
        host,
        port,
        title=f"petalbar {path.name}" if path else "petalbar",
        public_url=own_origins(host, port)[0],
        templates_path=Path(__file__).parent,
    ).serve()
