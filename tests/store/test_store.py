"""The store: every revision kept, undo over restarts, plans, the field log once each, pictures by what they are."""

import json
import sqlite3
import uuid
from dataclasses import asdict
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from alembic import command
from alembic.autogenerate import compare_metadata
from alembic.config import Config
from alembic.runtime.migration import MigrationContext
from sqlalchemy import create_engine, text

from rillwright import store as store_package
from rillwright.errors import InputError, NotFoundError, StaleError, StateError
from rillwright.model.field_log import Entry
from rillwright.store import Store
from rillwright.store.pictures import LARGEST_PICTURE, Placement
from rillwright.store.plans import PlanBrief
from rillwright.store.schema import Base

BRIEF = PlanBrief(verdict="fits", headline="good", aim="balanced", heads=3, cost=120.5, currency="USD")
MIGRATIONS = Path(store_package.__file__).parent / "migrations"
PNG = b"\x89PNG\r\n\x1a\n" + b"0" * 20
WHEN = datetime(2026, 5, 1, 9, 0, tzinfo=UTC)


@pytest.fixture
def store(tmp_path):
    opened = Store(tmp_path / "data")
    yield opened
    opened.close()


@pytest.fixture
def yard(store):
    return store.yards.create({"name": "Mine", "areas": []}, what="begun", draft=True).id


def entry(**changes):
    given = {"id": str(uuid.uuid4()), "made": WHEN.isoformat(), "what": {"kind": "note"}, "words": "wet here"}
    return Entry.model_validate(given | changes)


@pytest.mark.usefixtures("store")
def test_migrations_make_the_tables_that_the_code_has(tmp_path):
    engine = create_engine(f"sqlite:///{tmp_path / 'data' / 'rillwright.sqlite3'}")
    with engine.connect() as connection:
        assert compare_metadata(MigrationContext.configure(connection), Base.metadata) == []
    engine.dispose()


def test_undo_and_redo_outlive_the_program(store, yard, tmp_path):
    for number in (1, 2, 3):
        store.yards.save(yard, {"name": f"Mine {number}"}, expected=number, what="", draft=False)
    store.yards.undo(yard, expected=4)
    store.yards.undo(yard, expected=3)
    store.close()
    again = Store(tmp_path / "data")
    found = again.yards.revision(yard)
    assert (found.note.number, found.document, found.can_redo) == (2, {"name": "Mine 1"}, True)
    assert again.yards.redo(yard, expected=2).note.number == 3
    assert again.yards.redo(yard, expected=3).document == {"name": "Mine 3"}
    assert again.yards.get(yard).name == "Mine 3"
    with pytest.raises(StateError, match="nothing is left to redo"):
        again.yards.redo(yard, expected=4)
    again.close()


def test_a_branch_after_undo_keeps_the_old_one(store, yard):
    store.yards.save(yard, {"name": "a"}, expected=1, what="", draft=False)
    store.yards.undo(yard, expected=2)
    made = store.yards.save(yard, {"name": "b"}, expected=1, what="", draft=False)
    assert (made.note.number, made.note.parent, made.can_redo) == (3, 1, False)
    assert [note.number for note in store.yards.revisions(yard)] == [3, 2, 1]
    assert store.yards.revision(yard, 2).document == {"name": "a"}
    assert store.yards.undo(yard, expected=3).note.number == 1
    assert store.yards.redo(yard, expected=1).note.number == 3


def test_two_tabs_do_not_overwrite_each_other(store, yard):
    store.yards.save(yard, {"name": "first tab"}, expected=1, what="", draft=False)
    with pytest.raises(StaleError) as error:
        store.yards.save(yard, {"name": "second tab"}, expected=1, what="", draft=False)
    assert (error.value.expected, error.value.current) == (1, 2)
    assert store.yards.revision(yard).document == {"name": "first tab"}


def test_documents_come_back_as_they_were_sent(store, yard):
    document = {"name": "Ü 庭", "x": 1.0, "length": "72 ft 6 in", "deep": [[{"a": [1e-300, -0.0, 2**53]}]], "": None}
    store.yards.save(yard, document, expected=1, what="", draft=True)
    found = store.yards.revision(yard).document
    assert found == document
    assert str(found) == str(document)


def test_the_bin_gives_back_and_erases(store, yard):
    with pytest.raises(StateError, match="bin"):
        store.erase(yard)
    store.yards.bin(yard)
    assert store.yards.all() == []
    assert [note.id for note in store.yards.all(binned=True)] == [yard]
    with pytest.raises(StateError, match="bin"):
        store.yards.save(yard, {}, expected=1, what="", draft=True)
    store.yards.restore(yard)
    assert [note.id for note in store.yards.all()] == [yard]
    store.log.append(yard, [entry()])
    store.pictures.add_photo(yard, uuid.uuid4(), PNG)
    store.plans.start(yard, revision=1, seed=0, software="1")
    store.yards.bin(yard)
    store.erase(yard)
    with pytest.raises(NotFoundError):
        store.yards.get(yard)


def test_a_store_of_a_newer_version_is_left_alone(store, tmp_path):
    store.close()
    with sqlite3.connect(tmp_path / "data" / "rillwright.sqlite3") as file:
        file.execute("update alembic_version set version_num = '9999'")
    file.close()
    with pytest.raises(InputError, match="newer version"):
        Store(tmp_path / "data")


def test_what_is_no_store_is_refused(tmp_path):
    (tmp_path / "rillwright.sqlite3").write_bytes(b"this is no database at all, but long enough to look at" * 50)
    with pytest.raises(InputError, match="cannot be used as a store"):
        Store(tmp_path)


def test_an_entry_that_is_sent_again_is_kept_once_and_in_order(store, yard):
    batch = [entry(words=str(n)) for n in range(5)]
    first = store.log.append(yard, batch[:3])
    again = store.log.append(yard, batch)
    assert [receipt.status for receipt in first] == ["stored"] * 3
    assert [receipt.status for receipt in again] == ["already stored"] * 3 + ["stored"] * 2
    assert [kept.entry.words for kept in store.log.entries(yard)] == list("01234")
    assert [kept.entry.words for kept in store.log.entries(yard, after=again[2].seq)] == list("34")


def test_an_entry_is_never_changed(store, yard):
    first = entry()
    store.log.append(yard, [first])
    (receipt,) = store.log.append(yard, [first.model_copy(update={"words": "dry here"})])
    assert receipt.status == "refused"
    assert store.log.entries(yard)[0].entry.words == "wet here"


def test_a_correction_names_the_first_entry_and_erases_nothing(store, yard):
    first = entry()
    fix = entry(corrects=str(first.id), words="dry here")
    more = entry(corrects=str(fix.id))
    lost = entry(corrects=str(uuid.uuid4()))
    receipts = store.log.append(yard, [first, fix, more, lost, entry(withdraws=True)])
    assert [receipt.status for receipt in receipts] == ["stored", "stored", "refused", "refused", "refused"]
    assert str(first.id) in receipts[2].why
    kept = store.log.entries(yard)
    assert [item.entry.words for item in kept] == ["wet here", "dry here"]
    assert kept[0].corrected_by == (fix.id,)


def test_an_entry_of_another_yard_is_no_entry_here(store, yard):
    other = store.yards.create({}, what="", draft=True).id
    first = entry()
    store.log.append(yard, [first])
    receipts = store.log.append(other, [first, entry(corrects=str(first.id))])
    assert [receipt.status for receipt in receipts] == ["refused", "refused"]


def ticked(store, yard, *, done, made=WHEN, over=None, tick=None):
    return store.log.tick(yard, "trench T1", tick=tick or uuid.uuid4(), done=done, made=made, over=over)


def test_the_tick_that_arrives_last_counts_whatever_the_clocks_say(store, yard):
    first = ticked(store, yard, done=True)
    behind = ticked(store, yard, done=False, made=WHEN - timedelta(hours=1), over=first.id)
    assert (behind.done, behind.made, behind.contested) == (False, WHEN - timedelta(hours=1), False)
    assert store.log.ticks(yard) == [behind]
    assert behind.received >= first.received > WHEN


def test_a_tick_sent_again_does_not_undo_what_came_after_it(store, yard):
    lost = uuid.uuid4()
    ticked(store, yard, done=True, tick=lost)
    after = ticked(store, yard, done=False, over=lost)
    assert ticked(store, yard, done=True, tick=lost) == after
    assert store.log.ticks(yard) == [after]
    with pytest.raises(StateError, match="id of its own"):
        ticked(store, yard, done=False, tick=lost)


def test_two_who_had_not_heard_of_each_other_are_told(store, yard):
    first = ticked(store, yard, done=True)
    mine = ticked(store, yard, done=False, over=first.id)
    assert not ticked(store, yard, done=False, over=first.id).contested  # both say the same
    theirs = ticked(store, yard, done=True, over=first.id)
    assert theirs.contested
    assert theirs.done
    assert not ticked(store, yard, done=True, over=theirs.id).contested
    assert mine.id != theirs.id


def test_plans_of_an_older_store_get_their_briefs(tmp_path):
    folder = tmp_path / "old"
    store = Store(folder)
    yard = store.yards.create({"name": "Old", "units": "US"}, what="made", draft=True).id
    plan, _ = store.plans.start(yard, revision=1, seed=0, software="1")
    document = {"heads": [{}, {}], "cost": {"total": 85.5}, "yard": {"currency": "USD", "heads": {"aim": "most even"}}}
    store.plans.finish(plan.id, document=json.dumps(document), brief=BRIEF, status="done")
    store.close()
    engine = create_engine(f"sqlite:///{folder / 'rillwright.sqlite3'}")
    with engine.connect() as connection:
        config = Config()
        config.set_main_option("script_location", str(MIGRATIONS))
        config.attributes["connection"] = connection
        command.downgrade(config, "0002")
        connection.commit()
    engine.dispose()
    store = Store(folder)
    note = store.plans.get(plan.id)
    assert (note.aim, note.heads, note.cost, note.currency) == ("most even", 2, 85.5, "USD")
    store.close()


def test_ticks_of_an_older_store_are_kept(tmp_path):
    folder = tmp_path / "old"
    Store(folder).close()
    engine = create_engine(f"sqlite:///{folder / 'rillwright.sqlite3'}")
    yard = uuid.uuid4()
    with engine.connect() as connection:
        config = Config()
        config.set_main_option("script_location", str(MIGRATIONS))
        config.attributes["connection"] = connection
        command.downgrade(config, "0001")
        words = "INSERT INTO yards VALUES (:yard, 'Old', 1, :when, :when, NULL)"
        given = {"yard": yard.hex, "when": "2026-05-01 09:00:00.000000", "step": "trench T1", "done": True}
        connection.execute(text(words), given)
        connection.execute(text("INSERT INTO ticks VALUES (:yard, :step, :done, :when)"), given)
        connection.commit()
    engine.dispose()
    store = Store(folder)
    (tick,) = store.log.ticks(yard)
    assert (tick.step, tick.done, tick.made, tick.received, tick.contested) == ("trench T1", True, WHEN, WHEN, False)
    store.close()


def test_devices_are_forgotten_when_they_are_not_seen_for_long(store, monkeypatch):
    token = store.devices.let_in("phone")
    assert store.devices.knows(token)
    assert not store.devices.knows("")
    (device,) = store.devices.all()
    assert (device.name, device.seen) == ("phone", device.let_in)
    monkeypatch.setattr("rillwright.store.devices.now", lambda: device.seen + timedelta(days=29))
    assert store.devices.knows(token)
    assert store.devices.all()[0].seen == device.seen + timedelta(days=29)
    monkeypatch.setattr("rillwright.store.devices.now", lambda: device.seen + timedelta(days=60))
    assert not store.devices.knows(token)
    assert store.devices.all() == []


def test_so_many_devices_and_no_more(store):
    for number in range(20):
        store.devices.let_in(f"phone {number}")
    with pytest.raises(StateError, match="turn one out"):
        store.devices.let_in("one more")
    store.devices.turn_out(store.devices.all()[0].id)
    assert store.devices.knows(store.devices.let_in("one more"))


def files(folder):
    return [file for file in (folder / "data" / "pictures").rglob("*") if file.is_file()]


def test_pictures_go_with_their_yard_when_it_is_deleted_for_good(store, yard, tmp_path):
    other = store.yards.create({}, what="", draft=True).id
    store.pictures.add_photo(yard, uuid.uuid4(), PNG)
    shared = uuid.uuid4()
    store.pictures.add_photo(other, shared, PNG)  # the same file
    store.pictures.add_photo(yard, uuid.uuid4(), PNG + b"1")
    image = store.pictures.add_image(yard, PNG + b"2", name="survey")
    store.pictures.add_image(yard, PNG + b"3", name="survey")
    assert len(files(tmp_path)) == 4
    store.pictures.remove_image(yard, image.id)
    assert len(files(tmp_path)) == 3
    store.yards.bin(yard)
    assert len(files(tmp_path)) == 3  # it may be taken out again
    store.erase(yard)
    assert len(files(tmp_path)) == 1
    assert store.pictures.photo(other, shared) == (PNG, "image/png")


@pytest.mark.parametrize(
    "data", [b"", b"<svg xmlns='http://www.w3.org/2000/svg'/>", b"GIF89a", b"RIFF1234WAVE", b"\xff\xd8"]
)
def test_only_pictures_are_kept(store, yard, data):
    with pytest.raises(InputError, match="PNG, JPEG or WebP"):
        store.pictures.add_photo(yard, uuid.uuid4(), data)


def test_pictures_are_limited_in_size(store, yard):
    with pytest.raises(InputError, match="at most 20 MB"):
        store.pictures.add_image(yard, PNG + bytes(LARGEST_PICTURE), name="big")


def test_a_photo_sent_twice_is_kept_once_and_another_refused(store, yard, tmp_path):
    photo = uuid.uuid4()
    store.pictures.add_photo(yard, photo, PNG)
    store.pictures.add_photo(yard, photo, PNG)
    with pytest.raises(StateError):
        store.pictures.add_photo(yard, photo, PNG + b"1")
    assert store.pictures.photo(yard, photo) == (PNG, "image/png")
    assert len(files(tmp_path)) == 1
    with pytest.raises(NotFoundError):
        store.pictures.photo(store.yards.create({}, what="", draft=True).id, photo)


def test_an_image_is_placed(store, yard):
    image = store.pictures.add_image(yard, PNG, name="../../survey.png")
    placed = Placement(at=(1.0, 2.0), metres_per_pixel=0.02, turn=3.0)
    assert store.pictures.place(yard, image.id, placed).placement == placed
    assert [found.placement for found in store.pictures.images(yard)] == [placed]
    store.pictures.remove_image(yard, image.id)
    assert store.pictures.images(yard) == []


def test_a_plan_serves_again_once_it_is_done(store, yard):
    plan, new = store.plans.start(yard, revision=1, seed=0, software="1")
    assert new
    assert store.plans.start(yard, revision=1, seed=0, software="1") == (plan, False)
    with pytest.raises(StateError, match="waiting"):
        store.plans.document(plan.id)
    store.plans.finish(plan.id, document="{}", brief=BRIEF, status="done")
    assert store.plans.start(yard, revision=1, seed=0, software="1")[0].id == plan.id
    kept = asdict(store.plans.get(plan.id))
    assert kept.items() >= asdict(BRIEF).items()
    for other in ({"seed": 1}, {"revision": 2}, {"software": "2"}):
        assert store.plans.start(yard, **{"revision": 1, "seed": 0, "software": "1", **other})[1]


def test_what_was_under_way_when_the_program_ended_failed(store, yard):
    plan, _ = store.plans.start(yard, revision=1, seed=0, software="1")
    store.plans.run(plan.id)
    store.plans.give_up_unfinished()
    assert store.plans.get(plan.id).status == "failed"
    assert store.plans.start(yard, revision=1, seed=0, software="1")[1]
