"""The structured invoice as UN/CEFACT Cross Industry Invoice, in the binding of EN 16931 (CEN/TS 16931-3-3): the file
that stands inside a hybrid PDF.
"""

from collections.abc import Mapping
from typing import Any

from app.documents.en16931 import SPECIFICATION
from app.documents.xml_trees import Node, xml_from

_BASE = "urn:un:unece:uncefact:data:standard:"
_SPACES = {
    "rsm": f"{_BASE}CrossIndustryInvoice:100",
    "ram": f"{_BASE}ReusableAggregateBusinessInformationEntity:100",
    "udt": f"{_BASE}UnqualifiedDataType:100",
    "qdt": f"{_BASE}QualifiedDataType:100",
}
_DAY = {"format": "102"}  # UNTDID 2379: CCYYMMDD


def cii_from(terms: Mapping[str, Any]) -> bytes:
    """Write the terms that terms_from gave as a Cross Industry Invoice; the type code says which paper it is."""
    guideline = ("ram:GuidelineSpecifiedDocumentContextParameter", [("ram:ID", SPECIFICATION)])
    document = [
        ("ram:ID", terms["BT-1"]),
        ("ram:TypeCode", terms["BT-3"]),
        ("ram:IssueDateTime", [_day(terms["BT-2"])]),
        *(("ram:IncludedNote", [("ram:Content", note)]) for note in terms["BT-22"]),
    ]
    agreement = [
        ("ram:SellerTradeParty", _seller(terms["BG-4"])),
        ("ram:BuyerTradeParty", _buyer(terms["BG-7"])),
        ("ram:BuyerOrderReferencedDocument", [("ram:IssuerAssignedID", terms["BT-13"])]),
    ]
    transaction = [
        *(_line(each) for each in terms["BG-25"]),
        ("ram:ApplicableHeaderTradeAgreement", agreement),
        ("ram:ApplicableHeaderTradeDelivery", _delivery(terms["BG-13"])),
        ("ram:ApplicableHeaderTradeSettlement", _settlement(terms)),
    ]
    children = [
        ("rsm:ExchangedDocumentContext", [guideline]),
        ("rsm:ExchangedDocument", document),
        ("rsm:SupplyChainTradeTransaction", transaction),
    ]
    return xml_from("rsm:CrossIndustryInvoice", _SPACES, children)


def _settlement(terms: Mapping[str, Any]) -> list[Node]:
    payment, period, sums = terms["BG-16"], terms["BG-13"], terms["BG-22"]
    account = "ram:IBANID" if payment.get("iban") else "ram:ProprietaryID"
    means = [
        ("ram:TypeCode", payment.get("BT-81", "")),
        (
            "ram:PayeePartyCreditorFinancialAccount",
            sorted([(account, payment.get("BT-84", "")), ("ram:AccountName", payment.get("BT-85", ""))], key=_rank),
        ),
    ]
    summation = [
        ("ram:LineTotalAmount", sums["BT-106"]),
        ("ram:ChargeTotalAmount", sums["BT-108"]),
        ("ram:AllowanceTotalAmount", sums["BT-107"]),
        ("ram:TaxBasisTotalAmount", sums["BT-109"]),
        ("ram:TaxTotalAmount", sums["BT-110"], {"currencyID": terms["BT-5"]}),
        ("ram:RoundingAmount", "" if sums["BT-114"] == "0.00" else sums["BT-114"]),
        ("ram:GrandTotalAmount", sums["BT-112"]),
        ("ram:TotalPrepaidAmount", sums["BT-113"]),
        ("ram:DuePayableAmount", sums["BT-115"]),
    ]
    return [
        ("ram:PaymentReference", payment.get("BT-83", "")),
        ("ram:InvoiceCurrencyCode", terms["BT-5"]),
        ("ram:SpecifiedTradeSettlementPaymentMeans", means if payment else []),
        *(_group(each, terms["BT-7"]) for each in terms["BG-23"]),
        (
            "ram:BillingSpecifiedPeriod",
            [("ram:StartDateTime", [_day(period["BT-73"])]), ("ram:EndDateTime", [_day(period["BT-74"])])],
        ),
        *(_allowance(each, taxed=True) for each in terms["BG-20"]),
        (
            "ram:SpecifiedTradePaymentTerms",
            [("ram:Description", terms["BT-20"]), ("ram:DueDateDateTime", [_day(terms["BT-9"])])],
        ),
        ("ram:SpecifiedTradeSettlementHeaderMonetarySummation", summation),
        *(_preceding(each) for each in terms["BG-3"]),
    ]


def _rank(node: Node) -> int:
    return ("ram:IBANID", "ram:AccountName", "ram:ProprietaryID").index(node[0])


def _seller(seller: Mapping[str, Any]) -> list[Node]:
    phone = ("ram:TelephoneUniversalCommunication", [("ram:CompleteNumber", seller["phone"])])
    email = ("ram:EmailURIUniversalCommunication", [("ram:URIID", seller["email"])])
    organization = [("ram:ID", seller["company_number"]), ("ram:TradingBusinessName", seller["trading_name"])]
    return [
        ("ram:ID", seller["known_by"]),
        ("ram:Name", seller["name"]),
        ("ram:SpecifiedLegalOrganization", organization),
        ("ram:DefinedTradeContact", [("ram:PersonName", seller["contact"]), phone, email]),
        ("ram:PostalTradeAddress", _address(seller["address"])),
        ("ram:URIUniversalCommunication", [("ram:URIID", seller["email"], {"schemeID": "EM"})]),
        _tax_number(seller["vat_number"]),
    ]


def _buyer(buyer: Mapping[str, Any]) -> list[Node]:
    return [
        ("ram:Name", buyer["name"]),
        ("ram:DefinedTradeContact", [("ram:PersonName", buyer["contact"])]),
        ("ram:PostalTradeAddress", _address(buyer["address"])),
        _tax_number(buyer["vat_number"]),
    ]


def _tax_number(number: str) -> Node:
    return ("ram:SpecifiedTaxRegistration", [("ram:ID", number, {"schemeID": "VA"})])


def _address(address: Mapping[str, str]) -> list[Node]:
    return [
        ("ram:PostcodeCode", address["postcode"]),
        ("ram:LineOne", address["1"]),
        ("ram:LineTwo", address["2"]),
        ("ram:LineThree", address["3"]),
        ("ram:CityName", address["city"]),
        ("ram:CountryID", address["country"]),
    ]


def _delivery(delivery: Mapping[str, Any]) -> list[Node]:
    address = _address(delivery["address"]) if delivery["address"] else []
    return [
        ("ram:ShipToTradeParty", [("ram:Name", delivery["name"]), ("ram:PostalTradeAddress", address)]),
        (
            "ram:ActualDeliverySupplyChainEvent",
            [("ram:OccurrenceDateTime", [_day(delivery["BT-72"])])],
        ),
    ]


def _group(group: Mapping[str, str], tax_point: str) -> Node:
    return (
        "ram:ApplicableTradeTax",
        [
            ("ram:CalculatedAmount", group["BT-117"]),
            ("ram:TypeCode", "VAT"),
            ("ram:ExemptionReason", group["BT-120"]),
            ("ram:BasisAmount", group["BT-116"]),
            ("ram:CategoryCode", group["BT-118"]),
            ("ram:ExemptionReasonCode", group["BT-121"]),
            ("ram:TaxPointDate", [_day(tax_point, "udt:DateString")]),
            ("ram:RateApplicablePercent", group["BT-119"]),
        ],
    )


def _allowance(each: Mapping[str, Any], taxed: bool) -> Node:
    category = [
        ("ram:TypeCode", "VAT"),
        ("ram:CategoryCode", each["category"]),
        ("ram:RateApplicablePercent", each["rate"]),
    ]
    return (
        "ram:SpecifiedTradeAllowanceCharge",
        [
            ("ram:ChargeIndicator", [("udt:Indicator", "true" if each["charge"] else "false")]),
            ("ram:CalculationPercent", each["percent"]),
            ("ram:BasisAmount", each["base"]),
            ("ram:ActualAmount", each["amount"]),
            ("ram:Reason", each["reason"]),
            ("ram:CategoryTradeTax", category) if taxed else None,
        ],
    )


def _line(line: Mapping[str, Any]) -> Node:
    unit = {"unitCode": line["BT-130"]}
    product = [("ram:Name", line["BT-153"]), ("ram:Description", line["BT-154"])]
    price = [("ram:ChargeAmount", line["BT-146"]), ("ram:BasisQuantity", line["BT-149"], unit)]
    tax = [
        ("ram:TypeCode", "VAT"),
        ("ram:CategoryCode", line["BT-151"]),
        ("ram:RateApplicablePercent", line["BT-152"]),
    ]
    settlement = [
        ("ram:ApplicableTradeTax", tax),
        *(_allowance(each, taxed=False) for each in line["BG-27"]),
        ("ram:SpecifiedTradeSettlementLineMonetarySummation", [("ram:LineTotalAmount", line["BT-131"])]),
    ]
    return (
        "ram:IncludedSupplyChainTradeLineItem",
        [
            ("ram:AssociatedDocumentLineDocument", [("ram:LineID", line["BT-126"])]),
            ("ram:SpecifiedTradeProduct", product),
            ("ram:SpecifiedLineTradeAgreement", [("ram:NetPriceProductTradePrice", price)]),
            ("ram:SpecifiedLineTradeDelivery", [("ram:BilledQuantity", line["BT-129"], unit)]),
            ("ram:SpecifiedLineTradeSettlement", settlement),
        ],
    )


def _preceding(each: Mapping[str, str]) -> Node:
    formatted = ("ram:FormattedIssueDateTime", [_day(each["BT-26"], "qdt:DateTimeString")])
    return ("ram:InvoiceReferencedDocument", [("ram:IssuerAssignedID", each["BT-25"]), formatted])


def _day(day: str, name: str = "udt:DateTimeString") -> Node:
    return (name, day.replace("-", ""), _DAY)
