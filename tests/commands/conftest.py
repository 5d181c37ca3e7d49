"""A command line run in the test's own process, on copies of what is shipped."""

import shutil
from pathlib import Path

import pytest

from composer.cli import build_group, run

ROOT = Path(__file__).parents[2]
TRACK = ROOT / "demo_tracks" / "harbour_lanterns.ogg"
ROUTINE = ROOT / "routines" / "lantern_quay.toml"
GROUP = ROOT / "routines" / "four_on_the_quay.toml"


class Shell:
    """Runs a command line in this process and keeps what it printed."""

    def __init__(self, capsys: pytest.CaptureFixture[str]) -> None:
        self._capsys = capsys

    def __call__(self, *args: object, status: int = 0) -> str:
        self._capsys.readouterr()
        got = run(build_group(), [str(arg) for arg in args])
        printed = self._capsys.readouterr()
        self.error = printed.err
        assert got == status, printed.err + printed.out
        assert "Traceback" not in printed.err
        return printed.out

    def refuses(self, *args: object) -> str:
        """The one line on standard error with which a request that cannot be met is refused."""
        printed = self(*args, status=2)
        assert self.error.startswith("petalbar")
        assert self.error.count("\n") == 1, self.error
        assert not printed
        return self.error


@pytest.fixture
def petalbar(capsys: pytest.CaptureFixture[str]) -> Shell:
    return Shell(capsys)


@pytest.fixture
def mine(tmp_path: Path) -> Path:
    return Path(shutil.copy(ROUTINE, tmp_path / "mine.toml"))


@pytest.fixture(scope="module", autouse=True)
def own_cache(tmp_path_factory: pytest.TempPathFactory) -> object:
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("XDG_CACHE_HOME", str(tmp_path_factory.mktemp("cache")))
        yield
