"""The firm's signing key: made once, for its owner's eyes only, renewed in time, and in no backup."""

import stat
from concurrent.futures import ThreadPoolExecutor
from datetime import timedelta
from pathlib import Path

import pytest
from cryptography import x509

from app.actions import backups, certificates, signing_keys
from app.actions.deeds import Desk
from app.rules.verdicts import Refused
from app.store.database import Missing
from app.store.journal import list_journal
from tests.cast import Clock, World
from tests.finished_visits import begin_worked_through
from tests.signature_tools import openssl_says, pdfsig_says


def key_of(desk: Desk) -> bytes:
    return (desk.keys_folder / signing_keys.FILE).read_bytes()


def test_an_issued_certificate_is_signed_under_the_firms_authority(desk: Desk, world: World, tmp_path: Path) -> None:
    begin_worked_through(desk, world.technician, world.visit_id)
    certificates.issue_certificate(desk, world.office, world.visit_id)
    content = (desk.papers_folder / "C-000001.pdf").read_bytes()
    good, said = openssl_says(content, signing_keys.open_authority(desk), tmp_path)
    assert good, said
    assert "Signature is Valid" in pdfsig_says(content, tmp_path)


def test_the_key_is_made_once_and_only_its_owner_reads_it(desk: Desk, world: World) -> None:
    signing_keys.make_signing_key(desk)
    made = key_of(desk)
    signing_keys.make_signing_key(desk)
    assert key_of(desk) == made
    assert stat.S_IMODE((desk.keys_folder / signing_keys.FILE).stat().st_mode) == 0o600
    assert stat.S_IMODE(desk.keys_folder.stat().st_mode) == 0o700
    assert [file.name for file in desk.keys_folder.iterdir()] == [signing_keys.FILE]
    with desk.reading_only() as session:
        said = [line.sentence for line in list_journal(session, "firm", 1)]
    assert sum("signing key" in sentence for sentence in said) == 1
    assert b"PRIVATE" not in signing_keys.open_authority(desk)


def test_before_the_firm_is_set_up_there_is_no_key(desk: Desk) -> None:
    signing_keys.make_signing_key(desk)
    assert not desk.keys_folder.exists()
    with pytest.raises(Missing):
        signing_keys.open_authority(desk)


def test_two_who_make_it_at_once_use_the_same(desk: Desk, world: World) -> None:
    def take(_: int) -> bytes:
        with desk.doing(None) as deed:
            return signing_keys.open_signing_key(deed, desk.keys_folder)

    with ThreadPoolExecutor(4) as pool:
        assert len(set(pool.map(take, range(4)))) == 1


def test_the_signer_is_renewed_by_the_same_authority(desk: Desk, world: World, clock: Clock, tmp_path: Path) -> None:
    signing_keys.make_signing_key(desk)
    before = key_of(desk)
    authority = signing_keys.open_authority(desk)
    clock.pass_time(days=signing_keys.SIGNER_DAYS - 30)
    with desk.doing(None) as deed:
        after = signing_keys.open_signing_key(deed, desk.keys_folder)
    assert after != before
    assert signing_keys.open_authority(desk) == authority
    signer, issuer = x509.load_pem_x509_certificates(after)
    signer.verify_directly_issued_by(issuer)
    assert signer.not_valid_after_utc > clock.now + timedelta(days=1000)
    assert stat.S_IMODE((desk.keys_folder / signing_keys.FILE).stat().st_mode) == 0o600


def test_a_key_that_cannot_be_read_stops_the_issue_and_loses_nothing(desk: Desk, world: World) -> None:
    begin_worked_through(desk, world.technician, world.visit_id)
    signing_keys.make_signing_key(desk)
    file = desk.keys_folder / signing_keys.FILE
    kept = file.read_bytes()
    file.write_bytes(b"not a key")
    with pytest.raises(Refused, match="signing key"):
        certificates.issue_certificate(desk, world.office, world.visit_id)
    file.write_bytes(kept)
    certificates.issue_certificate(desk, world.office, world.visit_id)
    assert (desk.papers_folder / "C-000001.pdf").exists()


def test_the_key_is_in_no_backup(desk: Desk, world: World, clock: Clock, tmp_path: Path) -> None:
    signing_keys.make_signing_key(desk)
    copy = tmp_path / "copy"
    backups.back_up(desk.database, desk.papers_folder, copy, clock.now)
    secret = key_of(desk).splitlines()[1]
    assert not [file for file in copy.rglob("*") if file.is_file() and secret in file.read_bytes()]
