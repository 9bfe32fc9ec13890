"""The structured invoice as UBL 2.1 (OASIS), in the binding of EN 16931 (CEN/TS 16931-3-2)."""

from collections.abc import Mapping, Sequence
from typing import Any

from app.documents.en16931 import SPECIFICATION
from app.documents.xml_trees import Node, xml_from

_BASE = "urn:oasis:names:specification:ubl:schema:xsd:"
_CREDIT_NOTE = "381"


def ubl_from(terms: Mapping[str, Any]) -> bytes:
    """Write the terms that terms_from gave as a UBL Invoice, or for type code 381 as a UBL CreditNote."""
    credit = terms["BT-3"] == _CREDIT_NOTE
    root = "CreditNote" if credit else "Invoice"
    spaces = {
        "ubl": f"{_BASE}{root}-2",
        "cac": f"{_BASE}CommonAggregateComponents-2",
        "cbc": f"{_BASE}CommonBasicComponents-2",
    }
    kind = ("cbc:CreditNoteTypeCode" if credit else "cbc:InvoiceTypeCode", terms["BT-3"])
    notes = [("cbc:Note", note) for note in terms["BT-22"]]
    tax_point = ("cbc:TaxPointDate", terms["BT-7"])
    opening = [tax_point, kind, *notes] if credit else [("cbc:DueDate", terms["BT-9"]), kind, *notes, tax_point]
    sums, currency = terms["BG-22"], terms["BT-5"]
    children: list[Node | None] = [
        ("cbc:CustomizationID", SPECIFICATION),
        ("cbc:ID", terms["BT-1"]),
        ("cbc:IssueDate", terms["BT-2"]),
        *opening,
        ("cbc:DocumentCurrencyCode", currency),
        ("cac:InvoicePeriod", [("cbc:StartDate", terms["BG-13"]["BT-73"]), ("cbc:EndDate", terms["BG-13"]["BT-74"])]),
        ("cac:OrderReference", [("cbc:ID", terms["BT-13"])]),
        *(_preceding(each) for each in terms["BG-3"]),
        ("cac:AccountingSupplierParty", [("cac:Party", _seller(terms["BG-4"]))]),
        ("cac:AccountingCustomerParty", [("cac:Party", _buyer(terms["BG-7"]))]),
        ("cac:Delivery", _delivery(terms["BG-13"])),
        ("cac:PaymentMeans", _payment(terms["BG-16"], terms["BT-9"] if credit else "")),
        ("cac:PaymentTerms", [("cbc:Note", terms["BT-20"])]),
        *(_allowance(each, currency, taxed=True) for each in terms["BG-20"]),
        (
            "cac:TaxTotal",
            [_money("TaxAmount", sums["BT-110"], currency), *(_group(each, currency) for each in terms["BG-23"])],
        ),
        (
            "cac:LegalMonetaryTotal",
            [
                _money("LineExtensionAmount", sums["BT-106"], currency),
                _money("TaxExclusiveAmount", sums["BT-109"], currency),
                _money("TaxInclusiveAmount", sums["BT-112"], currency),
                _money("AllowanceTotalAmount", _some(sums["BT-107"]), currency),
                _money("ChargeTotalAmount", _some(sums["BT-108"]), currency),
                _money("PrepaidAmount", _some(sums["BT-113"]), currency),
                _money("PayableRoundingAmount", _some(sums["BT-114"]), currency),
                _money("PayableAmount", sums["BT-115"], currency),
            ],
        ),
        *(_line(each, currency, credit) for each in terms["BG-25"]),
    ]
    return xml_from(f"ubl:{root}", spaces, children)


def _preceding(each: Mapping[str, str]) -> Node:
    reference = [("cbc:ID", each["BT-25"]), ("cbc:IssueDate", each["BT-26"])]
    return ("cac:BillingReference", [("cac:InvoiceDocumentReference", reference)])


def _seller(seller: Mapping[str, Any]) -> list[Node]:
    return [
        ("cbc:EndpointID", seller["email"], {"schemeID": "EM"}),
        ("cac:PartyIdentification", [("cbc:ID", seller["known_by"])]),
        ("cac:PartyName", [("cbc:Name", seller["trading_name"])]),
        ("cac:PostalAddress", _address(seller["address"])),
        _tax_number(seller["vat_number"]),
        (
            "cac:PartyLegalEntity",
            [("cbc:RegistrationName", seller["name"]), ("cbc:CompanyID", seller["company_number"])],
        ),
        (
            "cac:Contact",
            [
                ("cbc:Name", seller["contact"]),
                ("cbc:Telephone", seller["phone"]),
                ("cbc:ElectronicMail", seller["email"]),
            ],
        ),
    ]


def _buyer(buyer: Mapping[str, Any]) -> list[Node]:
    return [
        ("cac:PostalAddress", _address(buyer["address"])),
        _tax_number(buyer["vat_number"]),
        ("cac:PartyLegalEntity", [("cbc:RegistrationName", buyer["name"])]),
        ("cac:Contact", [("cbc:Name", buyer["contact"])]),
    ]


def _tax_number(number: str) -> Node:
    scheme = ("cac:TaxScheme", [("cbc:ID", "VAT")])
    return ("cac:PartyTaxScheme", [("cbc:CompanyID", number), scheme] if number else [])


def _address(address: Mapping[str, str]) -> list[Node]:
    return [
        ("cbc:StreetName", address["1"]),
        ("cbc:AdditionalStreetName", address["2"]),
        ("cbc:CityName", address["city"]),
        ("cbc:PostalZone", address["postcode"]),
        ("cac:AddressLine", [("cbc:Line", address["3"])]),
        ("cac:Country", [("cbc:IdentificationCode", address["country"])]),
    ]


def _delivery(delivery: Mapping[str, Any]) -> list[Node]:
    address = _address(delivery["address"]) if delivery["address"] else []
    return [
        ("cbc:ActualDeliveryDate", delivery["BT-72"]),
        ("cac:DeliveryLocation", [("cac:Address", address)]),
        ("cac:DeliveryParty", [("cac:PartyName", [("cbc:Name", delivery["name"])])]),
    ]


def _payment(payment: Mapping[str, str], due: str) -> list[Node]:
    if not payment:
        return []
    account = [("cbc:ID", payment["BT-84"]), ("cbc:Name", payment["BT-85"])]
    return [
        ("cbc:PaymentMeansCode", payment["BT-81"]),
        ("cbc:PaymentDueDate", due),
        ("cbc:PaymentID", payment["BT-83"]),
        ("cac:PayeeFinancialAccount", account),
    ]


def _allowance(each: Mapping[str, Any], currency: str, taxed: bool) -> Node:
    return (
        "cac:AllowanceCharge",
        [
            ("cbc:ChargeIndicator", "true" if each["charge"] else "false"),
            ("cbc:AllowanceChargeReason", each["reason"]),
            ("cbc:MultiplierFactorNumeric", each["percent"]),
            _money("Amount", each["amount"], currency),
            _money("BaseAmount", each["base"], currency),
            ("cac:TaxCategory", _category(each["category"], each["rate"])) if taxed else None,
        ],
    )


def _category(category: str, rate: str, reason: Sequence[Node] = ()) -> list[Node]:
    scheme = ("cac:TaxScheme", [("cbc:ID", "VAT")])
    return [("cbc:ID", category), ("cbc:Percent", rate), *reason, scheme]


def _group(group: Mapping[str, str], currency: str) -> Node:
    reason = [("cbc:TaxExemptionReasonCode", group["BT-121"]), ("cbc:TaxExemptionReason", group["BT-120"])]
    return (
        "cac:TaxSubtotal",
        [
            _money("TaxableAmount", group["BT-116"], currency),
            _money("TaxAmount", group["BT-117"], currency),
            ("cac:TaxCategory", _category(group["BT-118"], group["BT-119"], reason)),
        ],
    )


def _line(line: Mapping[str, Any], currency: str, credit: bool) -> Node:
    unit = {"unitCode": line["BT-130"]}
    price = [_money("PriceAmount", line["BT-146"], currency), ("cbc:BaseQuantity", line["BT-149"], unit)]
    item = [
        ("cbc:Description", line["BT-154"]),
        ("cbc:Name", line["BT-153"]),
        ("cac:ClassifiedTaxCategory", _category(line["BT-151"], line["BT-152"])),
    ]
    return (
        "cac:CreditNoteLine" if credit else "cac:InvoiceLine",
        [
            ("cbc:ID", line["BT-126"]),
            ("cbc:CreditedQuantity" if credit else "cbc:InvoicedQuantity", line["BT-129"], unit),
            _money("LineExtensionAmount", line["BT-131"], currency),
            *(_allowance(each, currency, taxed=False) for each in line["BG-27"]),
            ("cac:Item", item),
            ("cac:Price", price),
        ],
    )


def _money(name: str, amount: str, currency: str) -> Node:
    return (f"cbc:{name}", amount, {"currencyID": currency})


def _some(amount: str) -> str:
    """An amount that is left out where it is nothing."""
    return "" if amount == "0.00" else amount
