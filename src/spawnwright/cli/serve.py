"""The pages for the bench, on this machine."""

from __future__ import annotations

import click

from spawnwright.cli import answer
from spawnwright.cli.book_options import book_option, warn_of_place


@answer.command("serve", example="serve --check")
@click.option(
    "--port",
    type=click.IntRange(1024, 65535),
    default=8377,
    show_default=True,
    help="Keep it the same: what a phone has not sent yet belongs to one address.",
)
@click.option("--lan", "is_lan", is_flag=True, help="Let paired phones on your network in.")
@click.option("--https", "is_secure", is_flag=True, help="With --lan: encrypted, opens offline.")
@click.option("--name", help="With --lan: what your network calls this machine, as bench.local.")
@click.option("--at", help="With --lan: listen at this number of this machine only.")
@click.option("--forget-keys", is_flag=True, help="Delete the keys for --https, and end.")
@click.option("--check", is_flag=True, help="Open the book, draw the first page, and end.")
@click.option("--open", "open_it", is_flag=True, help="Show the first page in your browser.")
@book_option
def command(
    port: int,
    is_lan: bool,
    is_secure: bool,
    name: str | None,
    at: str | None,
    forget_keys: bool,
    check: bool,
    open_it: bool,
    named: str | None,
) -> answer.Answer:
    """The pages for the bench, on this machine and, if you say so, on phones in your network.

    Opens the record book, makes it if there is none, says where it is, and shows it at
    http://127.0.0.1:8377/ until you press Ctrl-C. Without --lan only this machine can ask;
    nothing leaves it.

    With --lan, phones on the same network can ask once they are paired: open /phones on this
    machine, make a code, scan it. Over plain http others on the Wi-Fi can listen. With --https
    they cannot, and a phone can open the pages while this machine is off; each phone has to be
    told once to trust this machine, which /ca/ explains, and then asks at the port after --port.

    One process serves a book: a second one is refused, while all other commands go on. While it
    runs, a checked copy of the book is made each day on which something was entered.
    """
    from spawnwright.web.listening import own_keys
    from spawnwright.web.network import Opening
    from spawnwright.web.serving import check_once, serve_book

    if forget_keys:
        found = own_keys().forget()
        said = "The keys are deleted; phones do not trust them any more." if found else ""
        return answer.Answer({"forgotten": found}).text(said or "There were no keys.")
    warn_of_place(named)
    if check:
        return answer.Answer(check_once(named, port)).text("The book opens, and the pages draw.")
    opening = Opening(is_lan, is_secure, name, at)
    serve_book(named, port, answer.note, open_it=open_it, opening=opening)
    return answer.Answer({}).text("Stopped. Everything that was kept is in the book.")
