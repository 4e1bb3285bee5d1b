"""Run in a process of its own: mutated files given to readers, with their time and memory watched.

`python trying.py FOLDER COUNT SEED READER...` prints one line of JSON a reader: how many files were read, accepted and
refused, the slowest in seconds, the largest memory in MB, and the first faults, each with the seed that makes it again.
"""

from __future__ import annotations

import json
import random
import resource
import shutil
import signal
import sys
import traceback
import warnings
from pathlib import Path

from mutating import mutated
from readers import READERS, Reader

from materials.errors import InputError

MEGABYTES = 500
SECONDS = 10  # a file that takes longer hangs
ADDRESS_SPACE = (
    4_000_000_000  # bytes; beyond what is allowed, so that a file that needs it ends as a fault, not the machine
)
MOST_FAULTS = 5
LONGEST_MESSAGE = 50_000  # letters


class Hang(BaseException):
    """A reader took too long."""


def give_up(*_: object) -> None:
    raise Hang


def memory(line: str = "VmRSS") -> int:
    """What this process holds [MB], or held at most since that was last reset (VmHWM)."""
    lines = Path("/proc/self/status").read_text().splitlines()
    return next(int(each.split()[1]) // 1000 for each in lines if each.startswith(line))


class Watch:
    """The memory that one file takes, on top of what the program holds by itself [MB]."""

    def __init__(self, alone: int | None = None) -> None:
        """alone: what the program holds; now where None. What a library keeps of earlier files is not this one's."""
        Path("/proc/self/clear_refs").write_text("5")  # resets the most
        self.before = memory()
        self.alone = self.before if alone is None else alone

    def taken(self) -> int:
        return memory("VmHWM") - self.before + self.alone


def one(reader: Reader, good: Path, place: Path, seed: int, number: int, tally: dict) -> str | None:
    """Read one mutated copy; the fault in words, '' where it was refused as it should, None where it was accepted."""
    rng = random.Random(f"{reader.name} {seed} {number}")
    name = rng.choice(reader.names)
    before = (good / name).read_bytes()
    (place / name).write_bytes(mutated(before, name, rng))
    watch = Watch(tally["alone"])
    signal.setitimer(signal.ITIMER_PROF, SECONDS)  # of its own work, so that a busy machine is no fault
    signal.setitimer(signal.ITIMER_REAL, 6 * SECONDS)  # where it waits instead
    try:
        reader.read(place)
    except InputError as error:
        words = str(error)
        if not words.strip() or len(words) > LONGEST_MESSAGE:
            return f"{name}, seed {seed}, number {number}: a message of {len(words)} letters: {words[:200]}"
        return ""
    except Hang:
        return f"{name}, seed {seed}, number {number}: took longer than {SECONDS} s"
    except BaseException as error:
        if isinstance(error, KeyboardInterrupt):
            raise
        return f"{name}, seed {seed}, number {number}: {''.join(traceback.format_exception(error))[-1500:]}"
    finally:
        signal.setitimer(signal.ITIMER_REAL, 0)
        signal.setitimer(signal.ITIMER_PROF, 0)
        taken = watch.taken()
        tally["megabytes"] = max(tally["megabytes"], taken)
        reader.put_back(good, place, name, before)
        if taken > MEGABYTES:
            tally["faults"].append(f"{name}, seed {seed}, number {number}: took {taken} MB")
    return None


def tried(reader: Reader, folder: Path, count: int, seed: int) -> dict:
    """What came of so many mutated files of a reader."""
    good, place = folder / reader.name, folder / f"{reader.name}-bad"
    reader.make(good)
    shutil.copytree(good, place)
    reader.read(place)  # the samples themselves are good
    tally = {
        "reader": reader.name,
        "count": 0,
        "accepted": 0,
        "refused": 0,
        "megabytes": 0,
        "faults": [],
        "alone": memory(),
    }
    for number in range(count):
        fault = one(reader, good, place, seed, number, tally)
        tally["count"] += 1
        if fault:
            tally["faults"].append(fault)
            if len(tally["faults"]) >= MOST_FAULTS:
                break
        else:
            tally["accepted" if fault is None else "refused"] += 1
    return tally


def main(folder: Path, count: int, seed: int, names: list[str]) -> None:
    resource.setrlimit(resource.RLIMIT_AS, (ADDRESS_SPACE, ADDRESS_SPACE))
    for each in (signal.SIGALRM, signal.SIGPROF):
        signal.signal(each, give_up)
    warnings.simplefilter("ignore")
    for name in names:
        print(json.dumps(tried(READERS[name], folder, count, seed)), flush=True)


if __name__ == "__main__":
    main(Path(sys.argv[1]), int(sys.argv[2]), int(sys.argv[3]), sys.argv[4:])
