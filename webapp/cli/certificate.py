"""`quartervent certificate`: what a tablet needs to trust this machine on the player's network."""

import os

import click

from webapp.notebook.store.clock import now_utc
from webapp.notebook.store.errors import NotebookError
from webapp.notebook.store.own_folder import default_folder
from webapp.sharing.addresses import Hosts, find_own_hosts, read_hosts
from webapp.sharing.folder import SharingFolder


@click.command()
@click.option("--address", "addresses", multiple=True, help="One more address of this machine.")
@click.option("--name", "names", multiple=True, help="One more name of this machine.")
@click.option(
    "--new-authority",
    "is_authority_new",
    is_flag=True,
    help="Make the authority anew as well; its file must then be brought to every tablet again.",
)
def certificate(
    *, addresses: tuple[str, ...], names: tuple[str, ...], is_authority_new: bool
) -> None:
    """Make or renew the certificate for a tablet on the same network.

    It names this machine's present addresses and names, what is given here, and the names that the
    certificate before had. The authority that signs it is made once and kept.
    """
    os.umask(0o077)
    from webapp.sharing.certificates import SERVER_DAYS, make_certificate

    folder = SharingFolder.of(default_folder())
    try:
        hosts = read_hosts(addresses, names).and_also(find_own_hosts()).and_also(_kept(folder))
        facts = make_certificate(folder, hosts, now=now_utc(), is_authority_new=is_authority_new)
    except (NotebookError, OSError) as error:
        raise click.ClickException(str(error)) from error
    click.echo(f"The certificate names {', '.join(facts.hosts.texts)}.")
    click.echo(
        f"It is valid to {facts.valid_to:%Y-%m-%d} ({SERVER_DAYS} days); running this again renews "
        "it, also when an address has changed. The tablet needs nothing new then."
    )
    click.echo(
        f"\nIts authority is called “{facts.authority_name}”\n"
        f"and has the SHA-256 fingerprint\n  {facts.authority_fingerprint}\n"
    )
    click.echo(_WAY_TO_THE_TABLET.format(handout=folder.handout))


def _kept(folder: SharingFolder) -> Hosts:
    """Return the names of the certificate that is there; its addresses may be yesterday's."""
    from webapp.sharing.certificates import read_certificate

    try:
        return Hosts((), read_certificate(folder).hosts.names)
    except NotebookError:
        return Hosts((), ())


_WAY_TO_THE_TABLET = """\
Bring this one file to the tablet, by cable, by mail to yourself or with the tablet's own way of
handing over files (the page "Tablet" of the notebook offers it for download too):

  {handout}

iPadOS: open the file, then Settings > General > VPN & Device Management > install the profile;
then Settings > General > About > Certificate Trust Settings > switch it on.
Android: Settings > Security > More security settings > Encryption & credentials > Install a
certificate > CA certificate (the words differ a little between makers).
Compare the fingerprint that the tablet shows with the one above before you trust it.

What that means: the tablet then believes this authority about private addresses and the names
above, about nothing else. Nobody but you should have the other files of that folder. To take it
back, remove the profile or certificate on the tablet.

Next: quartervent passphrase, then quartervent serve --share"""
