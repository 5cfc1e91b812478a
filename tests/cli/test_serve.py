"""The served page from outside: a real process, a real port."""

import json
import os
import signal
import ssl
import subprocess
import sys
import time
import urllib.error
import urllib.request

import pytest

from rillwright import __version__

COMMAND = [sys.executable, "-c", "from rillwright.cli.main import run; run()", "serve"]


@pytest.fixture
def serving(tmp_path):
    """Start the command with options; give it and the address that it shows."""
    started = []

    def start(*options):
        words = [*COMMAND, "--data", str(tmp_path / "data"), *options]
        env = {**os.environ, "PYTHONUNBUFFERED": "1"}
        process = subprocess.Popen(words, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True, env=env)
        started.append(process)
        shown = ""
        while " at http://" not in shown:
            line = process.stdout.readline()
            assert line, shown
            shown += line
        return process, shown.partition(" at ")[2].split()[0], shown

    yield start
    for process in started:
        process.kill()
        process.wait()
        process.stdout.close()


def get(address, path, **headers):
    request = urllib.request.Request(address + path, headers=headers)
    for _ in range(100):
        try:
            with urllib.request.urlopen(request) as answer:
                return answer.status, json.load(answer)
        except urllib.error.HTTPError as error:
            with error:
                return error.code, json.load(error)
        except OSError:
            time.sleep(0.1)
    raise AssertionError("nothing answers")


def test_it_answers_on_this_machine_and_ends_at_an_interrupt(serving):
    process, address, _ = serving("--port", "0")
    assert address.startswith("http://127.0.0.1:")
    assert get(address, "/api/health") == (200, {"status": "ok", "version": __version__})
    assert get(address, "/api/health", Host="evil.example")[0] == 421
    process.send_signal(signal.SIGINT)
    assert process.wait(timeout=60) in (0, 130)


def test_a_port_that_is_taken_is_told(serving):
    _, address, _ = serving("--port", "0")
    port = address.rpartition(":")[2]
    again = subprocess.run([*COMMAND, "--port", port], capture_output=True, text=True, check=False)
    assert again.returncode == 2
    assert "Choose another --port" in again.stderr


def test_shared_it_shows_a_code_and_a_fingerprint_and_ends_whole(serving, tmp_path):
    process, address, shown = serving("--port", "0", "--share")
    assert "encrypted" in shown
    assert get(address, "/api/session") == (200, {"shared": True, "paired": True})
    told = get(address, "/api/share")[1]
    assert told["trust"]["fingerprint"] in shown
    assert told["trust"]["address"] in shown
    trusted = ssl.create_default_context(cafile=next((tmp_path / "data" / "tls").rglob("authority.pem")))
    with urllib.request.urlopen(told["address"] + "/api/session", context=trusted) as answer:
        assert json.load(answer)["shared"] is True
    plain = told["address"].replace("https://", "http://")
    with pytest.raises(OSError, match=r"closed|reset|without response"):
        urllib.request.urlopen(plain + "/api/session")
    process.send_signal(signal.SIGTERM)
    assert process.wait(timeout=60) in (0, -signal.SIGTERM)
    assert "Traceback" not in process.stdout.read()


def test_shared_plainly_it_says_what_that_means(serving):
    _, address, shown = serving("--port", "0", "--share", "--plain")
    assert "unencrypted" in shown
    assert "Phones keep no copy of the page" in shown
    assert get(address, "/api/share")[1]["trust"] is None


def test_plain_without_share_is_told(tmp_path):
    words = [*COMMAND, "--plain", "--data", str(tmp_path)]
    refused = subprocess.run(words, capture_output=True, text=True, check=False)
    assert refused.returncode == 2
    assert "--share --plain" in refused.stderr


def test_a_folder_that_cannot_be_used_is_told(tmp_path):
    (tmp_path / "file").write_text("")
    words = [*COMMAND, "--port", "0", "--data", str(tmp_path / "file" / "data")]
    refused = subprocess.run(words, capture_output=True, text=True, check=False)
    assert refused.returncode == 2
    assert "cannot be made" in refused.stderr
    assert "Traceback" not in refused.stderr
