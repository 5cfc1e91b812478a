"""The field log as a file: appended, never changed; nothing that was acknowledged is lost, whatever ends the writer."""

import json
import os
import signal
import subprocess
import sys
import uuid

import pytest

from rillwright.errors import InputError
from rillwright.exchange.log_file import append_entries, load_log, log_lines, read_log
from rillwright.model.field_log import Entry

WRITER = """
import sys, uuid
from pathlib import Path
from rillwright.exchange.log_file import append_entries
from rillwright.model.field_log import Entry

log = Path(sys.argv[1])
print("ready", flush=True)
while True:
    words = "x" * 3000 + "\\u2028 ü"
    given = {"id": str(uuid.uuid4()), "made": "2031-05-04T09:00Z", "what": {"kind": "note"}, "words": words}
    entry = Entry.model_validate(given)
    append_entries(log, [entry])
    print(entry.id, flush=True)
"""


def note(words="", **more):
    given = {"id": str(uuid.uuid4()), "made": "2031-05-04T09:00:00Z", "what": {"kind": "note"}, "words": words}
    return Entry.model_validate(given | more)


def test_what_is_appended_is_read_and_stays(tmp_path):
    log = tmp_path / "log.jsonl"
    first, second = note("one\u2028still one"), note("two")
    append_entries(log, [first])
    before = log.read_bytes()
    append_entries(log, [second])
    assert log.read_bytes().startswith(before)
    assert read_log(log) == ([first, second], "")


def test_a_file_without_its_last_end_of_line_goes_on(tmp_path):
    log = tmp_path / "log.jsonl"
    first, second = note("one"), note("two")
    log.write_bytes(log_lines([first]).rstrip(b"\n"))
    append_entries(log, [second])
    assert load_log(log) == [first, second]


def test_a_line_cut_off_is_left_out_then_put_aside(tmp_path):
    log = tmp_path / "log.jsonl"
    first, lost, second = note("one"), note("lost ü"), note("two")
    torn = log_lines([lost])[:-4]
    for cut in (1, len(torn) // 2, len(torn)):
        log.write_bytes(log_lines([first]) + torn[:cut])
        assert load_log(log) == [first]
        assert read_log(log)[1]
        told = append_entries(log, [second])
        assert "moved to" in told
        assert read_log(log) == ([first, second], "")
    assert (tmp_path / "log.jsonl.broken").read_bytes().endswith(torn + b"\n")


def test_a_wrong_line_amid_others_is_still_an_error(tmp_path):
    log = tmp_path / "log.jsonl"
    log.write_bytes(log_lines([note()]) + b'{"id": 3}\n' + log_lines([note()]))
    with pytest.raises(InputError, match="line 2: id"):
        load_log(log)


def test_what_cannot_be_kept_leaves_the_file_as_it_was(tmp_path):
    log = tmp_path / "log.jsonl"
    first = note("one")
    append_entries(log, [first])
    right = note("right", corrects=str(first.id))
    append_entries(log, [right])
    before = log.read_bytes()
    for wrong, words in (
        (first, "already"),
        (note(corrects=str(uuid.uuid4())), "no entry"),
        (note(corrects=str(right.id)), "correct the first"),
        (note(withdraws=True), "Only a correction"),
    ):
        with pytest.raises(InputError, match=words):
            append_entries(log, [wrong])
    assert log.read_bytes() == before
    with pytest.raises(InputError, match="cannot be written"):
        append_entries(tmp_path / "no" / "log.jsonl", [note()])
    with pytest.raises(InputError):
        append_entries(tmp_path / "new.jsonl", [note(corrects=str(first.id))])
    assert not (tmp_path / "new.jsonl").exists()


def test_a_killed_writer_loses_nothing_that_it_acknowledged(tmp_path):
    """SIGKILL at different moments; every id that was printed is in the file, and the file reads on."""
    log, told = tmp_path / "log.jsonl", []
    for count in (1, 4, 9):
        writer = subprocess.Popen([sys.executable, "-c", WRITER, str(log)], stdout=subprocess.PIPE, text=True)
        assert writer.stdout.readline() == "ready\n"
        told += [writer.stdout.readline().strip() for _ in range(count)]
        os.kill(writer.pid, signal.SIGKILL)
        told += [line.strip() for line in writer.stdout.read().splitlines() if len(line.strip()) == 36]
        writer.wait()
        writer.stdout.close()
    kept = {str(entry.id) for entry in read_log(log)[0]}
    assert set(told) <= kept
    append_entries(log, [note("after")])
    assert load_log(log)[-1].words == "after"


def test_two_writers_at_once_mix_no_lines(tmp_path):
    log = tmp_path / "log.jsonl"
    writers = [
        subprocess.Popen([sys.executable, "-c", WRITER, str(log)], stdout=subprocess.PIPE, text=True) for _ in range(2)
    ]
    for writer in writers:
        for _ in range(6):
            writer.stdout.readline()
    for writer in writers:
        writer.kill()
        writer.stdout.close()
        writer.wait()
    lines = [json.loads(line) for line in log.read_bytes().split(b"\n")[:-1]]
    assert len(lines) >= 10
    assert len({line["id"] for line in lines}) == len(lines)
