"""Holds the Python examples to the contract, over real sockets.

    python_clients.py BIN STUBS

BIN has obvert and obvertd, STUBS the stubs that make_stubs.py made.
"""

import os
import pathlib
import subprocess
import sys
import tempfile
import time

EXAMPLES = pathlib.Path(__file__).resolve().parents[2] / "clients" / "python"
PATIENCE_S = 30


def wait_for(path: pathlib.Path) -> None:
    end = time.monotonic() + PATIENCE_S
    while not path.exists():
        if time.monotonic() > end:
            sys.exit(f"{path} did not come within {PATIENCE_S} s")
        time.sleep(0.05)


def verdict(address: str, steps: list[tuple[str, str]]) -> str:
    """What the example says of a run with such steps, under hours from 7 to 19 UTC."""
    import grpc
    from obvert.closeout.v1 import closeout_pb2 as closeout
    from obvert.installation.v1 import installation_pb2 as installation
    from obvert.plugin.v1 import plugin_service_pb2 as plugin
    from obvert.plugin.v1 import plugin_service_pb2_grpc as plugin_grpc

    run = installation.Run(segments=["projects/p/segments/s"])
    for times in steps:
        step = run.steps.add()
        for field, time_of_day in zip((step.start_time, step.end_time), times):
            if time_of_day:
                field.FromJsonString(f"2026-05-04T{time_of_day}:00Z")
    settings = {"begin": "07:00", "end": "19:00", "time_zone": "UTC"}
    request = plugin.EvaluateRequest(segment="projects/p/segments/s", parameters=settings)
    sent = request.evidence.add()
    sent.record.name, sent.record.revision = "projects/p/runs/r", 3
    sent.body.Pack(run)
    with grpc.insecure_channel(address) as channel:
        answer = plugin_grpc.EvaluatorServiceStub(channel).Evaluate(request, timeout=PATIENCE_S)
    codes = [finding.code for finding in answer.findings if finding.holds]
    return " ".join([closeout.Verdict.Name(answer.verdict), *codes])


def judged(address: str) -> None:
    day = ("07:00", "19:00")
    cases = [([day], "VERDICT_RELEASED"),
             ([day, ("06:59", "12:00")], "VERDICT_HELD out-of-hours"),
             ([day, ("12:00", "19:01")], "VERDICT_HELD out-of-hours"),
             ([day, ("12:00", "")], "VERDICT_HELD unreadable"),
             ([], "VERDICT_HELD unreadable")]
    for steps, expected in cases:
        found = verdict(address, steps)
        if found != expected:
            sys.exit(f"plugin_example.py says {found} of {steps}, expected {expected}")
    print(f"plugin_example.py judged {len(cases)} runs as expected")


def conformance(binaries: pathlib.Path, folder: pathlib.Path, env: dict[str, str]) -> None:
    socket = folder / "check.sock"
    example = [sys.executable, EXAMPLES / "plugin_example.py", f"unix:{socket}"]
    serving = subprocess.Popen(example, env=env)
    try:
        wait_for(socket)
        check = [binaries / "obvert", "plugin", "check", f"unix:{socket}"]
        checked = subprocess.run(check, text=True, capture_output=True)
        judged(f"unix:{socket}")
    finally:
        serving.kill()
        serving.wait()
    print(checked.stdout, checked.stderr, sep="", end="")
    if checked.returncode != 0:
        sys.exit(f"plugin_example.py does not meet the contract (exit code {checked.returncode})")


def client(binaries: pathlib.Path, folder: pathlib.Path, env: dict[str, str]) -> None:
    config = folder / "server.toml"
    address = folder / "address"
    rows = {"listen": "127.0.0.1:0", "address_file": address, "store": folder / "store",
            "signing_key": folder / "signing.pem"}
    config.write_text("".join(f'{key} = "{value}"\n' for key, value in rows.items()))
    obvertd = binaries / "obvertd"
    subprocess.run([obvertd, "key", "new", "--config", config], check=True, capture_output=True)
    server = subprocess.Popen([obvertd, "serve", "--config", config], stderr=subprocess.DEVNULL)
    try:
        wait_for(address)
        words = [address.read_text().strip(), folder / "store" / "bootstrap.key", "nowhere"]
        example = [sys.executable, EXAMPLES / "client_example.py", *words]
        asked = subprocess.run(example, env=env, text=True, capture_output=True)
    finally:
        server.terminate()
        server.wait()
    if asked.returncode != 0 or asked.stdout:
        said = asked.stdout + asked.stderr
        sys.exit(f"client_example.py asked about no segments and said: {said}")
    print("client_example.py asked a server with a key and was answered")


def main(binaries: pathlib.Path, stubs: pathlib.Path) -> None:
    sys.path.insert(0, str(stubs))
    env = {**os.environ, "PYTHONPATH": f"{stubs}{os.pathsep}{EXAMPLES}"}
    with tempfile.TemporaryDirectory() as made:
        folder = pathlib.Path(made)
        conformance(binaries, folder, env)
        client(binaries, folder, env)


if __name__ == "__main__":
    main(*(pathlib.Path(word).resolve() for word in sys.argv[1:3]))
