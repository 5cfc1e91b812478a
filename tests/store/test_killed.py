"""A program killed while it writes the field log: whatever it had said was kept is there afterwards, whole, once."""

import json
import random
import subprocess
import sys
from contextlib import closing

import pytest

from rillwright.store import Store

SCRIPT = """
import sys, uuid
from pathlib import Path
from rillwright.model.field_log import Entry
from rillwright.store import Store

store, yard, dice = Store(Path(sys.argv[1])), uuid.UUID(sys.argv[2]), sys.argv[3]
print("ready", flush=True)
for number in range(10**9):
    sent = [
        Entry.model_validate({
            "id": uuid.uuid5(yard, f"{dice} {number} {part}"),
            "made": "2027-05-01T09:00:00Z",
            "what": {"kind": "note"},
            "words": f"{dice} {number} {part} " + "wet " * (number % 900),
        })
        for part in range(1 + number % 3)
    ]
    for entry, receipt in zip(sent, store.log.append(yard, sent), strict=True):
        print(f"{receipt.status}|{receipt.seq}|{entry.model_dump_json()}", flush=True)
"""


def killed(folder, yard, dice):
    """Entries that were said to be kept, by seq, when the program is killed at a moment of its own choosing."""
    with subprocess.Popen(
        [sys.executable, "-c", SCRIPT, str(folder), str(yard), str(dice.random())], stdout=subprocess.PIPE, text=True
    ) as writer:
        assert writer.stdout.readline() == "ready\n"
        lines = [writer.stdout.readline() for _ in range(dice.randrange(1, 60))]
        writer.kill()  # SIGKILL: nothing of the program runs any more
        lines += writer.stdout.read().splitlines(keepends=True)
    said = [line.rstrip("\n").split("|", 2) for line in lines if line.endswith("\n")]
    assert {status for status, *_ in said} == {"stored"}
    return {int(seq): json.loads(entry) for _, seq, entry in said}


@pytest.mark.parametrize("seed", range(2))
def test_no_entry_said_to_be_kept_is_lost_whenever_the_program_is_killed(seed, tmp_path):
    dice = random.Random(seed)
    with closing(Store(tmp_path)) as store:
        yard = store.yards.create({"name": "Mine", "areas": []}, what="begun", draft=True).id
    kept = {}
    for _ in range(4):
        kept |= killed(tmp_path, yard, dice)
        with closing(Store(tmp_path)) as store:
            there = {one.seq: one.entry for one in store.log.entries(yard, most=100_000)}
            assert len({entry.id for entry in there.values()}) == len(there)
            for seq, entry in kept.items():
                assert json.loads(there[seq].model_dump_json()) == entry
            more = len(there) - len(kept)
            assert 0 <= more <= 3 * 4  # of each run the last batch may have been kept without a word
            again = store.log.append(yard, [there[max(there)]])[0]
            assert (again.status, again.seq) == ("already stored", max(there))
    assert len(kept) > 40
    assert kept.keys() <= there.keys()
