"""The commands: python -m app COMMAND. Each has a help line."""

import argparse
import importlib
import json
import secrets
import shutil
import sys
import threading
from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from app.rules.verdicts import Mistakes, Refused
from app.settings import Settings, settings_from
from app.store.database import Database

#: More answers than a person reads at once.
MANY_ANSWERS = 100


def main(words: list[str] | None = None) -> int:
    """Run one command and give its exit status: 0 done, 1 refused, 2 bad input."""
    arguments = _parser().parse_args(words)
    try:
        settings = _settings(arguments)
        return int(arguments.run(settings, arguments) or 0)
    except (Refused, Mistakes, ValueError) as problem:
        print(getattr(problem, "sentence", problem), file=sys.stderr)
        return 1
    except KeyboardInterrupt:
        print("\nStopped.")
        return 0


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="python -m app", description="Ohmstead: inspection and testing, from booking to invoice."
    )
    commands = parser.add_subparsers(title="commands", required=True, metavar="COMMAND")

    serve = commands.add_parser("serve", help="serve the app to this computer, or with --host to the network")
    serve.add_argument("--host", help="address to listen on (usual: 127.0.0.1, this computer only)")
    serve.add_argument("--port", type=int, help="port to listen on (usual: 8765)")
    serve.add_argument(
        "--lan", action="store_true", help="serve tablets in the local network, by HTTPS; the page Tablets says how"
    )
    serve.set_defaults(run=_serve)

    demo = commands.add_parser("demo", help="make an invented firm, work today's visit through, then serve it")
    demo.add_argument("--once", action="store_true", help="stop instead of serving")
    demo.add_argument("--port", type=int, help="port to listen on (usual: 8765)")
    demo.set_defaults(run=_demo)

    back_up = commands.add_parser("backup", help="copy the database and the issued papers into a new folder")
    back_up.add_argument("folder", type=Path)
    back_up.set_defaults(run=_back_up)

    restore = commands.add_parser("restore", help="check a backup and put it back")
    restore.add_argument("folder", type=Path)
    restore.add_argument(
        "--overwrite", action="store_true", help="replace what is here; the old data is set aside, not deleted"
    )
    restore.set_defaults(run=_restore)

    upgrade = commands.add_parser(
        "upgrade", help="back up and bring the database to the newest tables (serve does this too)"
    )
    upgrade.set_defaults(run=_upgrade)

    password = commands.add_parser("password", help="give somebody who cannot sign in a new password, printed once")
    password.add_argument("email", help="the e-mail address that the person signs in with")
    password.set_defaults(run=_give_password)

    judge = commands.add_parser(
        "judge", help="judge the cases in a JSON file (- for standard input); needs no database"
    )
    judge.set_defaults(run=_judge)
    preview = commands.add_parser("preview-invoice", help="add up the invoices in a JSON file; needs no database")
    preview.set_defaults(run=_preview_invoice)
    for each in (judge, preview):
        each.add_argument("file", help="a case or a list of cases")

    migration = commands.add_parser(
        "new-migration", help="for developers: write a migration with what has changed in the tables"
    )
    migration.add_argument("name", help="what it does, such as add_photos")
    migration.set_defaults(run=_new_migration)

    for each in (serve, demo, back_up, restore, upgrade, password, judge, preview, migration):
        each.add_argument("--data", type=Path, help="folder of the data (usual: var, or OHMSTEAD_DATA)")
    return parser


def _settings(arguments: argparse.Namespace) -> Settings:
    settings = settings_from()
    given = {
        "data_folder": arguments.data,
        "host": getattr(arguments, "host", None),
        "port": getattr(arguments, "port", None),
    }
    return replace(settings, **{name: value for name, value in given.items() if value is not None})


def _open_database(settings: Settings) -> Database:
    """Open the database at its newest tables; an older one is backed up first."""
    from app.actions.backups import back_up
    from app.store.migrate import find_newest_version, find_version, upgrade

    settings.data_folder.mkdir(parents=True, exist_ok=True)
    database = Database(settings.database_url)
    before = find_version(database.engine)
    if before == find_newest_version(database.engine):
        return database
    if before is not None:
        folder = settings.data_folder / "backups" / f"before-upgrade-{datetime.now(UTC):%Y%m%d-%H%M%S}"
        folder.parent.mkdir(parents=True, exist_ok=True)
        back_up(database, settings.papers_folder, folder, datetime.now(UTC))
        print(f"Backed up to {folder} before the upgrade.")
    upgrade(database.engine)
    return database


def _serve(settings: Settings, arguments: argparse.Namespace) -> None:
    import uvicorn

    from app.main import create_app
    from app.store.firms import find_firm

    database = _open_database(settings)
    with database.reading() as session:
        set_up = find_firm(session) is not None
    code = "" if set_up else secrets.token_hex(4)
    if getattr(arguments, "lan", False):
        _serve_lan(settings, arguments.host or "", code)
        return
    address = f"http://{settings.host}:{settings.port}"
    print(f"Ohmstead is at {address} (data in {settings.data_folder}). Stop it with Ctrl+C.")
    if code:
        print(f"\n  No firm is set up yet. Open {address}/set-up and enter this code once:  {code}\n")
    sys.stdout.flush()
    threading.Thread(target=_load_renderer, daemon=True).start()
    uvicorn.run(create_app(settings, set_up_code=code), host=settings.host, port=settings.port, log_level="warning",
                server_header=False, proxy_headers=False, timeout_graceful_shutdown=5)  # fmt: skip


def _serve_lan(settings: Settings, host: str, code: str) -> None:
    from app.local_server import LocalServer

    server = LocalServer(settings, host if host != "0.0.0.0" else "")
    if code:
        print(f"\n  No firm is set up yet. Open {server.network.address}/set-up and enter this code once:  {code}\n")
    threading.Thread(target=_load_renderer, daemon=True).start()
    server.run(code)


def _load_renderer() -> None:
    """Load what draws papers while the app already answers, so that the first paper does not wait for it."""
    importlib.import_module("app.documents.pdf")
    importlib.import_module("app.documents.signatures")


def _demo(settings: Settings, arguments: argparse.Namespace) -> None:
    folder = arguments.data or settings.data_folder / "demo"
    settings = replace(settings, data_folder=folder, database="")
    account, in_the_making = folder / "account.txt", folder / "in-the-making"
    if account.exists():
        print(account.read_text("utf-8"))
    else:
        from demo_data.load import load_demo

        if in_the_making.exists():  # stopped half-way the last time: nothing in there is anybody's
            shutil.rmtree(folder)
        if (folder / "ohmstead.db").exists():
            raise Refused(f"{folder} holds the data of a firm, not of the demo. Name another folder with --data.")
        folder.mkdir(parents=True, exist_ok=True)
        in_the_making.touch()
        text = load_demo(settings, _open_database(settings))
        account.write_text(text, "utf-8")
        in_the_making.unlink()
        print(text)
    if not arguments.once:
        _serve(settings, arguments)


def _back_up(settings: Settings, arguments: argparse.Namespace) -> None:
    from app.actions.backups import back_up

    database = Database(settings.database_url)
    files = back_up(database, settings.papers_folder, arguments.folder, datetime.now(UTC))
    papers = sum(name.startswith("papers/") for name in files)
    print(f"Backed up the database and {papers} papers to {arguments.folder}.")


def _restore(settings: Settings, arguments: argparse.Namespace) -> None:
    from app.actions.backups import restore

    settings.data_folder.mkdir(parents=True, exist_ok=True)
    papers = restore(Database(settings.database_url), settings.papers_folder, arguments.folder, arguments.overwrite)
    print(
        f"Restored the database and {papers} papers from {arguments.folder}. "
        "Every file was checked against its SHA-256."
    )


def _upgrade(settings: Settings, arguments: argparse.Namespace) -> None:
    _open_database(settings)
    print("The database is at the newest tables.")


def _give_password(settings: Settings, arguments: argparse.Namespace) -> int:
    """Whoever can run commands on this computer can read its data anyway, so nothing else is asked."""
    from app.actions.people import change_password
    from app.main import new_desk
    from app.store.people import find_person_by_email

    _open_database(settings).close()
    desk, new = new_desk(settings), secrets.token_urlsafe(12)
    with desk.doing(None) as deed:
        row = find_person_by_email(deed.session, arguments.email)
        if row is None:
            print(f"Nobody signs in with {arguments.email}.", file=sys.stderr)
            return 1
        change_password(deed, row.id, new)
    print(f"{row.name} signs in with this password from now on, and is signed out everywhere:  {new}")
    return 0


def _judge(settings: Settings, arguments: argparse.Namespace) -> int:
    from app.rules.cases import judge_cases

    return _work_on_cases(arguments.file, judge_cases)


def _preview_invoice(settings: Settings, arguments: argparse.Namespace) -> int:
    from app.rules.invoice_previews import total_invoice_cases

    return _work_on_cases(arguments.file, total_invoice_cases)


def _work_on_cases(file: str, work: Callable[[object], list[dict[str, Any]]]) -> int:
    """Print the answers as JSON, or the problems with exit status 2."""
    from app.rules.case_fields import parse_json
    from app.rules.case_parsing import CaseProblems

    try:
        content = sys.stdin.buffer.read() if file == "-" else Path(file).read_bytes()
    except OSError as problem:
        return _print_json([{"path": "/", "message": f"{file} cannot be read: {problem.strerror}"}], 2)
    try:
        data = parse_json(content)
    except (ValueError, RecursionError) as problem:
        return _print_json([{"path": "/", "message": f"this is not JSON: {problem}"}], 2)
    try:
        return _print_json(work(data), 0)
    except CaseProblems as wrong:
        return _print_json(wrong.problems, 2)


def _print_json(data: list[dict[str, Any]] | list[dict[str, str]], status: int) -> int:
    """Print in UTF-8, whatever the terminal's own encoding is; give the status back.

    Many answers stand one on a line, which is a quarter of the time; few are laid out for people.
    """
    if len(data) > MANY_ANSWERS:
        text = ",\n".join(json.dumps(each, ensure_ascii=False) for each in data)
        text = f"[\n{text}\n]"
    else:
        text = json.dumps(data, ensure_ascii=False, indent=1)
    sys.stdout.buffer.write(text.encode() + b"\n")
    sys.stdout.buffer.flush()
    return status


def _new_migration(settings: Settings, arguments: argparse.Namespace) -> None:
    from app.store.migrate import add_migration

    add_migration(_open_database(settings).engine, arguments.name)


if __name__ == "__main__":
    sys.exit(main())
