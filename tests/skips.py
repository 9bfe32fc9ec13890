"""Says at the start which outside programs are missing, and at the end what was skipped for it.

With OHMSTEAD_NO_SKIPS=1, as in .ci/run, a run that skipped anything has failed.
"""

import os
from collections import Counter

import pytest

from tests import browser, postgres, signature_tools, verapdf


def _reporter(config: pytest.Config) -> pytest.TerminalReporter | None:
    reporter = config.pluginmanager.get_plugin("terminalreporter")
    return reporter if isinstance(reporter, pytest.TerminalReporter) else None


def _reasons(reporter: pytest.TerminalReporter) -> Counter[str]:
    reports = reporter.stats.get("skipped", [])
    return Counter(str(report.longrepr[2]).removeprefix("Skipped: ") for report in reports)


def pytest_sessionstart(session: pytest.Session) -> None:
    reporter = _reporter(session.config)
    if reporter is None:  # a worker process: only the first process speaks
        return
    for reason in filter(None, (module.missing() for module in (postgres, browser, verapdf, signature_tools))):
        reporter.write_line(f"Tests will be skipped: {reason}")


@pytest.hookimpl(trylast=True)
def pytest_sessionfinish(session: pytest.Session) -> None:
    reporter = _reporter(session.config)
    forbidden = os.environ.get("OHMSTEAD_NO_SKIPS") == "1"
    if reporter and forbidden and _reasons(reporter) and session.exitstatus == 0:
        session.exitstatus = pytest.ExitCode.TESTS_FAILED


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter) -> None:
    reasons = _reasons(terminalreporter)
    for reason, count in reasons.most_common():
        terminalreporter.write_line(f"Skipped {count}: {reason}")
    if reasons and os.environ.get("OHMSTEAD_NO_SKIPS") == "1":
        terminalreporter.write_line("Nothing may be skipped here (OHMSTEAD_NO_SKIPS=1): this run has failed.")
