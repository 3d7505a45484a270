"""Any batch engine can spread lays over workers: jobs are files, a lay is one command, and what it
leaves behind is the same whoever runs it and however often.

The engine is Luigi, a general one that knows nothing of cloth: a scheduler and three workers. A worker
is killed in the middle of a lay, then all of them and the scheduler, and everything is started again.
"""

from __future__ import annotations

import contextlib
import json
import os
import signal
import socket
import subprocess
import sys
import time
from pathlib import Path

import pytest
from common import ROOT, run

# Long enough for a kill to fall into the middle of a lay, short enough for the whole.
STEPS = 600
JOBS = 8
WORKERS = 3
PATIENCE = 60  # s, for anything to happen on a busy machine

RUN = """\
cloth navy { width 100 cm; direction two-way }
style rowing-tie from four-in-hand "the Millbrook Rowing Club's tie" { shell navy }
"""

CONFIGURATION = """\
[core]
scheduler_host = 127.0.0.1
scheduler_port = {port}
no_lock = true

[scheduler]
retry_delay = 0.5
worker_disconnect_delay = 2
prune_on_get_work = true
state_path = {state}

[worker]
keep_alive = true
ping_interval = 0.5
wait_interval = 0.2
wait_jitter = 0
"""


class Engine:
    """The scheduler and its workers, each a group of processes of its own."""

    def __init__(self, folder: Path, jobs: Path, out: Path):
        self.folder, self.jobs, self.out = folder, jobs, out
        self.journal = folder / "journal.txt"
        self.scheduler, self.workers = None, []
        with socket.socket() as free:
            free.bind(("127.0.0.1", 0))
            self.port = free.getsockname()[1]
        state = folder / "state.pickle"
        self.configuration = folder / "luigi.cfg"
        self.configuration.write_text(CONFIGURATION.format(port=self.port, state=state), encoding="utf-8")

    def process(self, name: str, *arguments) -> subprocess.Popen:
        """Starts one process in a group of its own; what it says goes to a file."""
        settings = {"LUIGI_CONFIG_PATH": str(self.configuration), "PYTHONPATH": str(ROOT / "tests/outside")}
        with open(self.folder / f"{name}.txt", "ab") as said:
            return subprocess.Popen(
                [sys.executable, *map(str, arguments)],
                env={**os.environ, **settings, "no_proxy": "127.0.0.1"},
                stdout=said,
                stderr=said,
                start_new_session=True,
            )

    def start(self):
        """Starts the scheduler, and the workers when it answers."""
        luigid = "from luigi.cmdline import luigid; luigid()"
        self.scheduler = self.process("scheduler", "-c", luigid, "--address", "127.0.0.1", "--port", self.port)
        until(self.answers, "the scheduler answers")
        tasks = ["--module", "lay_tasks", "LayAll", "--steps", STEPS, "--workers", 1]
        places = ["--jobs", self.jobs, "--out", self.out, "--journal", self.journal]
        for number in range(WORKERS):
            self.workers.append(self.process(f"worker-{number}", "-m", "luigi", *tasks, *places))

    def answers(self) -> bool:
        """Whether the scheduler takes connections."""
        assert self.scheduler.poll() is None, (self.folder / "scheduler.txt").read_text()
        with socket.socket() as client:
            return client.connect_ex(("127.0.0.1", self.port)) == 0

    def notes(self) -> list[list[str]]:
        """The lines of the journal: worker, job, what happened."""
        if not self.journal.exists():
            return []
        return [line.split() for line in self.journal.read_text("utf-8").splitlines()]

    def at_work(self) -> list[subprocess.Popen]:
        """The workers in the middle of a lay."""
        last = {int(pid): what for pid, _, what, *_ in self.notes()}
        return [worker for worker in self.workers if last.get(worker.pid) == "start"]

    def kill(self, process: subprocess.Popen):
        """Kills one process and all it has started, without a chance to tidy up."""
        with contextlib.suppress(ProcessLookupError):
            os.killpg(process.pid, signal.SIGKILL)
        process.wait()

    def kill_all(self):
        """Kills whatever still runs."""
        for process in [*self.workers, self.scheduler]:
            if process is not None:
                self.kill(process)
        self.workers, self.scheduler = [], None


def until(holds, what: str):
    """Waits until something holds."""
    end = time.monotonic() + PATIENCE
    while not holds():
        assert time.monotonic() < end, f"waited too long until {what}"
        time.sleep(0.02)


@pytest.fixture
def jobs(tmp_path) -> Path:
    """A folder of jobs, no two alike."""
    folder, source = tmp_path / "jobs", tmp_path / "rowing.tie"
    source.write_text(RUN, encoding="utf-8")
    made = run("lay", source, "--ties", "1", "--job", "--out", folder)
    assert made.returncode == 0, made.stderr.decode()
    (first,) = folder.glob("*.job.json")
    job = json.loads(first.read_text("utf-8"))
    first.unlink()
    for number in range(JOBS):
        job["name"] = f"lay-{number}"
        job["articles"][0]["count"] = 10 + number % 3
        job["search"]["seed"] = number
        (folder / f"lay-{number}.job.json").write_text(json.dumps(job, indent=2) + "\n", encoding="utf-8")
    return folder


def laid(folder: Path) -> dict[str, bytes]:
    """Every file that lays left in a folder; what a killed one had not yet renamed is no result."""
    files = [path for path in folder.iterdir() if not path.name.startswith(".")] if folder.exists() else []
    return {path.name: path.read_bytes() for path in sorted(files)}


def test_an_engine_whose_workers_die_lays_what_one_process_lays(tmp_path, jobs):
    serial = tmp_path / "serial"
    for job in sorted(jobs.iterdir()):
        result = run("lay", job, "--steps", STEPS, "--out", serial)
        assert result.returncode == 0, result.stderr.decode()

    engine = Engine(tmp_path, jobs, tmp_path / "out")
    try:
        engine.start()
        until(lambda: len(done(engine)) >= 1 and engine.at_work(), "the first job is laid")
        engine.kill(engine.at_work()[0])
        until(lambda: len(done(engine)) >= 3 and engine.at_work(), "the others go on")
        engine.kill_all()
        assert len(done(engine)) < JOBS, "nothing is left to be done after the engine was stopped"

        engine.start()
        until(lambda: all(worker.poll() is not None for worker in engine.workers), "all is done")
        said = [(tmp_path / f"worker-{number}.txt").read_text("utf-8") for number in range(WORKERS)]
        assert all(worker.returncode == 0 for worker in engine.workers), said
    finally:
        engine.kill_all()

    assert laid(engine.out) == laid(serial)
    assert sum(name.endswith(".laid.json") for name in laid(serial)) == JOBS
    starts = [job for _, job, what, *_ in engine.notes() if what == "start"]
    assert len(starts) > JOBS, "no lay was cut short"
    results = {(job, digest[0]) for _, job, what, *digest in engine.notes() if what == "done"}
    assert len(results) == JOBS, "a job laid twice came out twice different"


def done(engine: Engine) -> set[str]:
    """The jobs that are laid."""
    return {job for _, job, what, *_ in engine.notes() if what == "done"}
