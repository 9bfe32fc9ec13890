"""What the demo says of itself when it is made and at each later start."""

from typing import Any

from app.rules.people import Person
from app.store.certificates import get_certificate
from app.store.firms import get_firm
from app.store.invoices import get_invoice
from demo_data.files import read_toml


def describe_demo(
    demo: Any, place: Any, visit_id: int, certificate_id: int, invoice_id: int, token: str, progress: Any
) -> str:
    """Say where the demo is to be seen, what today's visit came to, and how to sign in."""
    address, folder = demo.settings.public_address, demo.settings.papers_folder
    with demo.desk.database.reading() as session:
        certificate, firm = get_certificate(session, certificate_id), get_firm(session)
        invoice = get_invoice(session, invoice_id)
        pounds = [_pounds(pence) for pence in (invoice.net_pence, invoice.vat_pence, invoice.gross_pence)]
        found = f"{progress.passed} passed, {progress.failed} failed, {progress.not_tested} not tested"
        signs = "\n".join(f"    {person.role.value:<11}{_email(person)}" for person in demo.staff.values())
        return f"""
{firm.name}: an invented firm, made on {demo.today.day} {demo.today:%B %Y}.

  Today's visit   {place.customer}, {place.told["name"]} (visit {visit_id})
                  {progress.items} items: {found}
  Certificate     {certificate.number}  {folder / certificate.file_name}
  Invoice         {invoice.number}  {pounds[0]} + {pounds[1]} VAT = {pounds[2]}, due {invoice.due_on}
                  {folder / invoice.file_name}
  Share link      {address}/s/{token}

  Sign in at      {address}
{signs}
    password   {demo.password}
"""


def _pounds(pence: int) -> str:
    return f"£{pence // 100:,}.{pence % 100:02d}"


def _email(person: Person) -> str:
    return str(next(each["email"] for each in read_toml("firm.toml")["people"] if each["name"] == person.name))
