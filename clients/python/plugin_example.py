"""An owner's check of working hours: python plugin_example.py unix:/run/obvert/hours.sock"""

import datetime
import sys
import zoneinfo

from obvert.closeout.v1 import closeout_pb2 as closeout
from obvert.common.v1 import record_pb2 as common
from obvert.installation.v1 import installation_pb2 as installation
from obvert.plugin.v1 import plugin_service_pb2 as plugin
from obvert.plugin.v1 import plugin_service_pb2_grpc as plugin_grpc
from obvert_calls import serve

SETTINGS = [("begin", "such as 07:00"), ("end", "such as 19:00"), ("time_zone", "of the site")]


class WorkingHours(plugin_grpc.EvaluatorServiceServicer):
    def Describe(self, request, context):
        return plugin.DescribeResponse(
            evaluator="working-hours", version="1.0.0", contract_revision=1,
            evidence_types=[installation.Run.DESCRIPTOR.full_name],
            parameters=[{"name": n, "description": d, "required": True} for n, d in SETTINGS])

    def Evaluate(self, request, context):
        answer = plugin.EvaluateResponse(
            segment=request.segment, point=request.point, evidence_digest=request.evidence_digest)
        try:
            given = map(request.parameters.get, ("begin", "end"))
            begin, end = map(datetime.time.fromisoformat, given)
            zone = zoneinfo.ZoneInfo(request.parameters["time_zone"])
            for sent in request.evidence:
                run = installation.Run()
                if sent.body.Unpack(run) and request.segment in run.segments:
                    answer.evidence.append(sent.record)
                    answer.findings.extend(out_of_hours(sent.record, run, begin, end, zone))
        except Exception as error:  # Whatever cannot be read holds.
            answer.findings.add(code="unreadable", message=f"unread: {error}"[:200], holds=True)
        if not answer.evidence and not answer.findings:
            answer.findings.add(code="missing-run", message="no run is filed yet", holds=True)
        answer.verdict = closeout.VERDICT_HELD if answer.findings else closeout.VERDICT_RELEASED
        return answer


def out_of_hours(record, run, begin, end, zone):
    timed = [s for s in run.steps if s.HasField("start_time") and s.HasField("end_time")]
    if not timed or len(timed) < len(run.steps):
        raise ValueError(f"{record.name} has no steps, or one without times")
    for step in timed:
        ahead = datetime.timedelta(seconds=step.clock_offset_s)
        start, stop = (t.ToDatetime(datetime.UTC) - ahead for t in (step.start_time, step.end_time))
        start, stop = start.astimezone(zone), stop.astimezone(zone)
        if start.time() < begin or stop.time() > end or start.date() != stop.date():
            text = f"work from {start:%Y-%m-%d %H:%M} to {stop:%H:%M}, granted {begin} to {end}"
            yield common.Finding(code="out-of-hours", message=text, records=[record], holds=True)


if __name__ == "__main__":
    add = plugin_grpc.add_EvaluatorServiceServicer_to_server
    serve(sys.argv[1], lambda server: add(WorkingHours(), server)).wait_for_termination()
