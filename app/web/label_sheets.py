"""The sheets and rolls of labels that the firm describes, and the page by which a description is tried out."""

from decimal import Decimal

from fastapi import APIRouter, Request, Response

from app.actions.labels import add_label_sheet, change_label_sheet, discard_label_sheet, draw_label_test_page
from app.rules.label_sheets import COUNT_MOST, Codes, Dots, Feed, LabelSheetDetails
from app.rules.verdicts import Mistakes
from app.store.label_sheets import get_label_sheet, list_label_sheets
from app.web.fields import Form
from app.web.kit import Doing, Reading, Sent, TheDesk, ask_again, go, page, pdf

routes = APIRouter()
LENGTHS = ("width_mm", "height_mm", "left_mm", "top_mm", "gap_across_mm", "gap_down_mm", "inset_mm")
CHOICES = {
    "feed": [(each.value, each.word[0].upper() + each.word[1:]) for each in Feed],
    "codes": [(each.value, each.word[0].upper() + each.word[1:]) for each in Codes],
    "dots": [(each.value, each.word) for each in Dots],
}


@routes.get("/label-sheets")
def list_sheets(request: Request, session: Reading) -> Response:
    return page(request, "label_sheets/list.html", sheets=list_label_sheets(session))


@routes.get("/label-sheets/new")
def new_label_sheet(request: Request) -> Response:
    usual = LabelSheetDetails("", Feed.SHEET, Decimal(0), Decimal(0))
    form = Form.showing(**vars(usual))
    for name in ("width_mm", "height_mm", "left_mm", "top_mm", "columns", "rows"):
        form.values[name] = ""
    return page(request, "label_sheets/new.html", form=form, choices=CHOICES)


@routes.post("/label-sheets")
def save_new_label_sheet(request: Request, deed: Doing, desk: TheDesk, sent: Sent) -> Response:
    try:
        add_label_sheet(deed, _details_from(sent), desk.public_address)
    except Mistakes as wrong:
        raise ask_again(request, "label_sheets/new.html", sent, wrong, choices=CHOICES) from wrong
    return go("/label-sheets")


@routes.get("/label-sheets/{label_sheet_id}/edit")
def edit_label_sheet(request: Request, session: Reading, label_sheet_id: int) -> Response:
    row = get_label_sheet(session, label_sheet_id)
    form = Form.showing(version=row.version, **vars(row.details))
    return page(request, "label_sheets/edit.html", form=form, sheet=row, choices=CHOICES)


@routes.post("/label-sheets/{label_sheet_id}")
def save_label_sheet(request: Request, deed: Doing, desk: TheDesk, sent: Sent, label_sheet_id: int) -> Response:
    row = get_label_sheet(deed.session, label_sheet_id)
    try:
        change_label_sheet(deed, label_sheet_id, _details_from(sent), desk.public_address, sent.version())
    except Mistakes as wrong:
        raise ask_again(request, "label_sheets/edit.html", sent, wrong, sheet=row, choices=CHOICES) from wrong
    return go("/label-sheets")


@routes.post("/label-sheets/{label_sheet_id}/remove")
def remove_label_sheet(deed: Doing, label_sheet_id: int) -> Response:
    discard_label_sheet(deed, label_sheet_id)
    return go("/label-sheets")


@routes.get("/label-sheets/{label_sheet_id}/test-page.pdf")
def download_test_page(session: Reading, label_sheet_id: int) -> Response:
    return pdf(draw_label_test_page(session, label_sheet_id), f"label-test-page-{label_sheet_id}.pdf")


def _details_from(sent: Form) -> LabelSheetDetails:
    feed = sent.choice("feed", Feed)
    grid = feed == Feed.SHEET
    lengths = {name: sent.number(name, "0", "300") for name in LENGTHS}
    for name in ("width_mm", "height_mm"):
        if lengths[name] is None:
            sent.blame(name, "Measure one label, in mm.")
    columns, rows = (sent.whole(name, 1, COUNT_MOST) if grid else 1 for name in ("columns", "rows"))
    if columns is None:
        sent.blame("columns", "Count the labels across the sheet.")
    if rows is None:
        sent.blame("rows", "Count the labels down the sheet.")
    details = LabelSheetDetails(
        name=sent.text("name", 80, needed="Give it a name, such as the words on its packet."),
        feed=feed,
        columns=columns or 1,
        rows=rows or 1,
        shift_right_mm=_shift(sent, "shift_right_mm"),
        shift_down_mm=_shift(sent, "shift_down_mm"),
        dots=sent.choice("dots", Dots, Dots.OFFICE_600),
        codes=sent.choice("codes", Codes, Codes.QR),
        shows_description=sent.tick("shows_description"),
        shows_next=sent.tick("shows_next"),
        shows_firm=sent.tick("shows_firm"),
        **{name: value or Decimal(0) for name, value in lengths.items()},
    )
    sent.done()
    return details


def _shift(sent: Form, name: str) -> Decimal:
    """A length that may be less than nothing."""
    text = sent.value(name).strip().replace("−", "-")
    bare = Form({name: text.removeprefix("-")})
    value = bare.number(name, "0", "10")
    if mistake := bare.mistake(name):
        sent.blame(name, mistake if "from" not in mistake else "Give a length from -10 to 10 mm.")
    return (value or Decimal(0)) * (-1 if text.startswith("-") else 1)
