"""Prints what holds each segment of a project.

python client_example.py 127.0.0.1:7480 KEY_FILE PROJECT
"""

import sys

from obvert.closeout.v1 import closeout_pb2 as closeout
from obvert.closeout.v1 import closeout_service_pb2 as messages
from obvert.closeout.v1 import closeout_service_pb2_grpc as rpcs
from obvert_calls import channel


def main(address: str, key_file: str, project: str) -> None:
    with channel(address, key_file) as opened:
        service = rpcs.CloseoutServiceStub(opened)
        request = messages.EvaluateProjectRequest(project=project)
        for status in service.EvaluateProject(request, timeout=60):
            held = [p.point for p in status.points if p.state == closeout.POINT_STATE_HELD]
            print(status.segment.split("/")[-1], "held by:", ", ".join(held) or "nothing")


if __name__ == "__main__":
    main(*sys.argv[1:4])
