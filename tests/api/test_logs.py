"""Logs are one JSON object a line, without what should not be in them."""

import json

import structlog

from api import logs


def test_a_line_is_json_with_the_error_and_without_local_variables(capsys):
    logs.configure("info")
    secret_dough = ["rye", "whey"]
    try:
        int(secret_dough.pop())
    except ValueError:
        structlog.get_logger().exception("broke off", plan="weir.1")
    line = json.loads(capsys.readouterr().err)
    assert (line["event"], line["level"], line["plan"]) == ("broke off", "error", "weir.1")
    assert "ValueError" in line["exception"]
    assert "rye" not in json.dumps(line)


def test_what_is_less_severe_is_left_out(capsys):
    logs.configure("warning")
    structlog.get_logger().info("all is well")
    assert capsys.readouterr().err == ""
