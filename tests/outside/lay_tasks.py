"""Lays as tasks of a general batch engine: a folder of jobs in, a folder of laid jobs out.

All that an engine must know of the program is its command line and the name of the file it leaves
behind. `test_engine.py` runs workers on this module.
"""

from __future__ import annotations

import hashlib
import os
import subprocess
from pathlib import Path

import luigi
from common import BINARY


class Lay(luigi.Task):
    """One job file, laid."""

    job = luigi.Parameter()
    steps = luigi.IntParameter()
    out = luigi.Parameter()
    journal = luigi.Parameter(significant=False)

    @property
    def laid(self) -> Path:
        """The file that says it is done."""
        return Path(self.out) / Path(self.job).name.replace(".job.json", ".laid.json")

    def output(self):
        return luigi.LocalTarget(self.laid)

    def run(self):
        self.note("start")
        command = [BINARY, "lay", self.job, "--steps", str(self.steps), "--out", self.out]
        subprocess.run(command, check=True, capture_output=True)
        self.note("done", hashlib.sha256(self.laid.read_bytes()).hexdigest())

    def note(self, *words: str):
        """A line of the journal: the worker, the job and what happened, written at once."""
        with open(self.journal, "a", encoding="utf-8") as journal:
            journal.write(" ".join([str(os.getpid()), Path(self.job).name, *words]) + "\n")


class LayAll(luigi.WrapperTask):
    """Every job of a folder."""

    jobs = luigi.Parameter()
    steps = luigi.IntParameter()
    out = luigi.Parameter()
    journal = luigi.Parameter()

    def requires(self):
        for job in sorted(Path(self.jobs).glob("*.job.json")):
            yield Lay(job=str(job), steps=self.steps, out=self.out, journal=self.journal)
