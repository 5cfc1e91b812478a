"""`rillwright log add` killed whenever it touches a file: what it said it kept is there, whole, once."""

import json
import subprocess
import sys

from rillwright.cli.typed_entry import made_entry, new_entry
from rillwright.exchange.log_file import append_entries, load_log, read_log

MOMENTS = """
import os, signal, sys
import rillwright.cli.log_written, rillwright.jobs.answers.effect
from rillwright.cli.main import app

log, photo = sys.argv[1:]

def end_at(moment):
    calls = 0
    def wrap(name):
        real = getattr(os, name)
        def call(*given, **more):
            nonlocal calls
            calls += 1
            if calls == moment:
                if name == "write":
                    real(given[0], bytes(given[1])[: len(given[1]) // 2])
                os.kill(os.getpid(), signal.SIGKILL)
            return real(*given, **more)
        setattr(os, name, call)
    for name in ("open", "write", "ftruncate", "fsync", "close"):
        wrap(name)

for moment in range(1, 100):
    ear, mouth = os.pipe()
    child = os.fork()
    if child == 0:
        os.dup2(mouth, 1)
        end_at(moment)
        app(["log", "add", log, "note", "--words", f"moment {moment}", "--photo", photo], standalone_mode=False)
        sys.stdout.flush()
        os._exit(0)
    os.close(mouth)
    said = b"".join(iter(lambda: os.read(ear, 4096), b"")).decode()
    os.close(ear)
    killed = os.WIFSIGNALED(os.waitpid(child, 0)[1])
    with open(log, "rb") as file:
        print(f"{moment}|{int(killed)}|{int('Kept ' in said)}|{file.read().hex()}", flush=True)
    if not killed:
        break
"""


def test_an_entry_said_to_be_kept_outlives_a_kill_at_any_moment_of_its_writing(tmp_path):
    log, photo, seen = tmp_path / "job.log.jsonl", tmp_path / "valve.jpg", tmp_path / "seen.jsonl"
    photo.write_bytes(b"an invented picture")
    append_entries(log, [made_entry(new_entry({"kind": "note"}, words="begun", at="", made=""), system=None)])
    ended = subprocess.run(
        [sys.executable, "-c", MOMENTS, str(log), str(photo)], stdout=subprocess.PIPE, text=True, check=True
    )
    rows = [line.split("|") for line in ended.stdout.splitlines()]
    assert len(rows) > 6  # a log, a photo: opened, written, forced to the disk, closed
    assert [killed for _, killed, _, _ in rows] == [*["1"] * (len(rows) - 1), "0"]
    kept = ["begun"]
    for moment, _, said, data in rows:
        kept += [f"moment {moment}"] if said == "1" else []
        seen.write_bytes(bytes.fromhex(data))
        words = [entry.words for entry in read_log(seen)[0]]
        assert len(words) == len(set(words))
        assert set(kept) <= set(words)
    assert kept[-1] == f"moment {len(rows)}"
    for entry in load_log(log)[1:]:  # each that is there has its photo, whole
        (name,) = entry.photos
        assert (tmp_path / "job.log.jsonl.photos" / f"{name}.jpg").read_bytes() == photo.read_bytes()
    broken = tmp_path / "job.log.jsonl.broken"
    assert broken.exists()  # the half line of the kill amid writing was put aside
    assert not any(is_json(line) for line in broken.read_bytes().splitlines())


def is_json(line):
    try:
        json.loads(line)
    except ValueError:
        return False
    return True
