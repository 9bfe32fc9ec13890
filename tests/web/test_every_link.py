"""Every link that a page offers leads somewhere, for each role: no dead end, no error, nothing that is forbidden."""

import re
from collections import Counter
from html import unescape

import pytest

from tests.web.firm_at_work import STAFF, FirmAtWork

LINK = re.compile(r'(?:href|hx-get)="(/[^"#]*)')
#: So many addresses of one shape are opened: /items/1 and /items/2 are drawn by the same code.
ALIKE_MOST = 3


@pytest.mark.parametrize("role", STAFF)
def test_every_link_leads_somewhere(firm_at_work: FirmAtWork, role: str) -> None:
    firm_at_work.put_back()
    browse = firm_at_work.browse(role)
    waiting, seen, shapes = ["/"], {"/"}, Counter[str]()
    wrong = []
    while waiting:
        address = waiting.pop(0)
        shape = re.sub(r"\d+", "0", address.split("?")[0])
        shapes[shape] += 1
        if shapes[shape] > ALIKE_MOST:
            continue
        answer = browse.get(address)
        if answer.status_code >= 400:
            wrong.append((answer.status_code, address))
        if "html" in answer.headers.get("content-type", ""):
            found = {unescape(link) for link in LINK.findall(answer.text)}
            fresh = sorted(link for link in found - seen if not link.startswith("/static/"))
            seen |= set(fresh)
            waiting += fresh
    assert wrong == []
    assert len(shapes) > 20, "it went nowhere"
