"""The served program killed while entries, ticks and photos arrive: what it acknowledged is there when it is back."""

import io
import json
import random
import threading
import urllib.error
import urllib.request
import uuid

from PIL import Image

from web_program import Program

ENOUGH = 24  # acknowledged before the kill


def asked(address, method, path, body=None, media="application/json"):
    data = json.dumps(body).encode() if isinstance(body, dict) else body
    request = urllib.request.Request(address + path, data=data, method=method, headers={"Content-Type": media})
    with urllib.request.urlopen(request, timeout=30) as answer:
        return answer.read()


def a_photo(dice):
    file = io.BytesIO()
    Image.new("RGB", (8, 8), tuple(dice.randrange(256) for _ in range(3))).save(file, "PNG")
    return file.getvalue()


def sender(address, yard, seed, kept, enough):
    """Send one thing after another until nobody answers; note what was acknowledged."""
    dice = random.Random(seed)
    for number in range(10**6):
        own = str(uuid.UUID(int=dice.getrandbits(128), version=4))
        try:
            if number % 3 == 0:
                tick = {"id": own, "done": True, "made": "2021-05-01T09:00:00Z"}
                asked(address, "PUT", f"{yard}/ticks/step-{own}", tick)
                kept.append(("tick", own, None))
            elif number % 3 == 1:
                data = a_photo(dice)
                form = b'--cut\r\nContent-Disposition: form-data; name="file"; filename="p.png"\r\n'
                form += b"Content-Type: image/png\r\n\r\n" + data + b"\r\n--cut--\r\n"
                asked(address, "PUT", f"{yard}/photos/{own}", form, "multipart/form-data; boundary=cut")
                kept.append(("photo", own, data))
            else:
                entry = {"id": own, "made": "2021-05-01T09:00:00Z", "what": {"kind": "note"}, "words": own}
                (receipt,) = json.loads(asked(address, "POST", f"{yard}/log", {"entries": [entry]}))
                assert receipt["status"] == "stored"
                kept.append(("entry", own, None))
        except urllib.error.HTTPError:
            enough.set()  # nobody waits for what will not come
            raise
        except OSError:
            return  # killed: this one was not acknowledged
        if len(kept) >= ENOUGH:
            enough.set()


def test_what_was_acknowledged_is_there_after_a_kill(tmp_path):
    program = Program(tmp_path)
    program.start()
    try:
        body = {"name": "Mine", "units": "metric"}
        yard = f"/api/yards/{json.loads(asked(program.address, 'POST', '/api/yards', body))['id']}"
        kept, enough = [], threading.Event()
        senders = [
            threading.Thread(target=sender, args=(program.address, yard, seed, kept, enough)) for seed in range(4)
        ]
        for one in senders:
            one.start()
        assert enough.wait()
        program.kill()
        for one in senders:
            one.join()
        program.start()
        stored = json.loads(asked(program.address, "GET", f"{yard}/log?most=1000"))
        there = {one["entry"]["id"] for one in stored}
        there |= {one["id"] for one in json.loads(asked(program.address, "GET", f"{yard}/ticks"))}
        assert len(stored) == len({one["entry"]["id"] for one in stored})
        for kind, own, data in kept:
            if kind == "photo":
                assert asked(program.address, "GET", f"{yard}/photos/{own}") == data
            else:
                assert own in there
        assert {kind for kind, *_ in kept} == {"entry", "tick", "photo"}
    finally:
        program.stop()
