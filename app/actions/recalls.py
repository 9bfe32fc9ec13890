"""Product recalls: taking a published list in, proposing items, and a person's word on each proposal."""

from collections.abc import Mapping

from sqlalchemy.orm import Session

from app.actions.deeds import Deed
from app.rules.csv_files import CsvFile
from app.rules.items import ItemState
from app.rules.recall_matches import list_matches
from app.rules.recalls import (
    HitState,
    Notice,
    check_columns,
    describe_recall,
    describe_recall_remedy,
    list_notices,
    may_decide,
    parse_recall_file,
    suggest_columns,
)
from app.rules.verdicts import Mistakes, Refused
from app.store.items import DefectRow, ItemRow
from app.store.recalls import (
    RecallHitRow,
    RecallListRow,
    RecallNoticeRow,
    count_recall_notices,
    find_columns_of_recalls,
    get_recall_hit,
    get_recall_list,
    list_hit_pairs,
    list_known_notices,
    list_recall_candidates,
    list_recall_notices,
    remove_proposals,
)

Columns = Mapping[str, int | None]
NOTE_MOST = 500


def upload_recall_list(deed: Deed, name: str, content: bytes) -> RecallListRow:
    """Keep a list until somebody has said what its columns mean. Raises Mistakes when it cannot be read."""
    try:
        file = parse_recall_file(content)
    except ValueError as error:
        raise Mistakes({"file": str(error)}) from error
    row = RecallListRow(
        name=name[:200],
        content=content,
        mark=file.mark,
        columns=find_columns_of_recalls(deed.session, file.mark) or suggest_columns(file),
        state="waiting",
        uploaded_at=deed.now,
        uploaded_by_id=deed.doer.id,
    )
    deed.session.add(row)
    deed.session.flush()
    deed.note("recall list", row.id, f"Uploaded the recall list {row.name}.")
    return row


def preview_recall_list(
    session: Session, row: RecallListRow, columns: Columns | None = None
) -> tuple[CsvFile, Columns, tuple[Notice, ...], set[str], int]:
    """What a list would come to: file, columns, notices, marks that are known, rows left out. Nothing is written."""
    if row.content is None:
        raise Refused("This recall list is dealt with.")
    file = parse_recall_file(row.content)
    columns = columns if columns is not None else row.columns
    if check_columns(columns, len(file.columns)):
        return file, columns, (), set(), 0
    notices, empty = list_notices(file, columns)
    return file, columns, notices, list_known_notices(session, [each.mark for each in notices]), empty


def take_in_recall_list(deed: Deed, recall_list_id: int, columns: Columns) -> RecallListRow:
    """Take in the notices that are not there yet and propose the items they may be about. Raises Mistakes."""
    row = get_recall_list(deed.session, recall_list_id, locked=True)
    file, columns, notices, known, _ = preview_recall_list(deed.session, row, columns)
    if mistakes := check_columns(columns, len(file.columns)):
        raise Mistakes(mistakes)
    if not notices:
        raise Mistakes({"make": "By these columns the list names nothing to look for."})
    new = [notice for notice in notices if notice.mark not in known]
    for notice in new:
        deed.session.add(RecallNoticeRow(recall_list_id=row.id, mark=notice.mark, **vars(notice)))
    row.content, row.state, row.columns = None, "taken", dict(columns)
    row.taken, row.known = len(new), len(known)
    deed.session.flush()
    found = _propose(deed, list_recall_notices(deed.session, row.id), None)
    deed.note(
        "recall list",
        row.id,
        f"Took in {len(new)} notices of {row.name}; {len(known)} were there; {found} items to look at.",
    )
    return row


def discard_recall_list(deed: Deed, recall_list_id: int) -> None:
    """Drop a list without taking anything from it."""
    row = get_recall_list(deed.session, recall_list_id, locked=True)
    if row.content is None:
        raise Refused("This recall list is dealt with.")
    row.content, row.state = None, "discarded"
    deed.note("recall list", row.id, f"Discarded the recall list {row.name}.")


def match_item(deed: Deed, item: ItemRow) -> None:
    """Look for an item that is new or changed among all notices; a proposal that no longer fits is taken back."""
    if not count_recall_notices(deed.session):
        return
    deed.session.flush()
    _propose(deed, list_recall_notices(deed.session), item.id)


def confirm_hit(deed: Deed, recall_hit_id: int, note: str, out_of_use: bool, version: int | None = None) -> DefectRow:
    """Say that an item is a recalled product: it gets a defect, and is taken out of use where that is asked for."""
    row = _decided(deed, recall_hit_id, HitState.CONFIRMED, note, version)
    notice, item = row.recall_notice.notice, row.item
    defect = DefectRow(
        item_id=item.id,
        found_at=deed.now,
        found=describe_recall(notice),
        remedy=describe_recall_remedy(notice),
        recalled=True,
    )
    deed.session.add(defect)
    deed.session.flush()
    row.defect_id = defect.id
    if out_of_use and item.state == ItemState.IN_USE:
        item.state, item.state_reason = ItemState.OUT_OF_USE.value, defect.found
        deed.note("item", item.id, f"Item {item.number} is now out of use: {defect.found}")
    deed.note(
        "item", item.id, f"Confirmed that item {item.number} is a recalled product: {notice.name}. {note}".strip()
    )
    return defect


def dismiss_hit(deed: Deed, recall_hit_id: int, reason: str, version: int | None = None) -> None:
    """Say that an item is not what a notice is about, and why. Raises Mistakes."""
    if not reason.strip():
        raise Mistakes({"reason": "Say how you know, such as what the rating plate says."})
    row = _decided(deed, recall_hit_id, HitState.DISMISSED, reason, version)
    name = row.recall_notice.notice.name
    deed.note("item", row.item_id, f"Item {row.item.number} is not the recalled {name}: {reason.strip()}")


def look_again(deed: Deed, recall_hit_id: int, version: int | None = None) -> None:
    """Put a dismissed hit back among the proposals."""
    row = _decided(deed, recall_hit_id, HitState.PROPOSED, "", version)
    deed.note(
        "item", row.item_id, f"Item {row.item.number} is to be looked at again for {row.recall_notice.notice.name}."
    )


def settle_hit(deed: Deed, recall_hit_id: int, done: str, version: int | None = None) -> None:
    """Say what was done about a recalled item; its defect is closed. An item out of use still has to pass a test."""
    if not done.strip():
        raise Mistakes({"done": "Say what was done, such as replaced by its maker on a day."})
    row = _decided(deed, recall_hit_id, HitState.SETTLED, done, version)
    defect = deed.session.get(DefectRow, row.defect_id) if row.defect_id else None
    if defect is not None and defect.closed_on is None:
        defect.closed_on = deed.today
    deed.note("item", row.item_id, f"The recall of item {row.item.number} is dealt with: {done.strip()}")


def _decided(deed: Deed, recall_hit_id: int, to: HitState, reason: str, version: int | None) -> RecallHitRow:
    row = get_recall_hit(deed.session, recall_hit_id)
    if version is not None and row.version != version:
        raise Refused("Somebody else has decided about this hit since you opened it. Open it again.")
    if sentence := may_decide(HitState(row.state), to):
        raise Refused(sentence)
    if len(reason) > NOTE_MOST:
        raise Mistakes({"reason": f"Use at most {NOTE_MOST} characters."})
    row.state, row.decided_reason = to.value, reason.strip()
    decided = to != HitState.PROPOSED
    row.decided_at, row.decided_by_id = (deed.now, deed.doer.id) if decided else (None, None)
    deed.session.flush()
    return row


def _propose(deed: Deed, notices: list[tuple[int, Notice]], item_id: int | None) -> int:
    """Propose every match that is not there yet; how many. What nobody decided about follows its item."""
    candidates = list_recall_candidates(deed.session, item_id)
    matches = {(notice, item): match for notice, item, match in list_matches(notices, candidates)}
    there = list_hit_pairs(deed.session, None if item_id is None else [item_id])
    new = 0
    for (notice_id, matched_id), match in matches.items():
        if (hit_id := there.get((notice_id, matched_id))) is not None:
            row = get_recall_hit(deed.session, hit_id)
            if row.state == HitState.PROPOSED:
                row.score, row.reasons = match.score, list(match.reasons)
            continue
        new += 1
        deed.session.add(
            RecallHitRow(
                recall_notice_id=notice_id,
                item_id=matched_id,
                score=match.score,
                reasons=list(match.reasons),
                state=HitState.PROPOSED.value,
                found_at=deed.now,
            )
        )
    if item_id is not None:
        remove_proposals(deed.session, [hit for pair, hit in there.items() if pair not in matches])
    deed.session.flush()
    return new
