"""Sharing with a tablet on the same network: HTTPS, a passphrase, and never open by itself.

`folder` names the files and writes them for their owner's eyes only; `addresses` finds what this
machine is called on its network; `certificates` makes the player's own authority and the server's
certificate; `passphrase` keeps the hash; `attempts` slows guessing down; `access` is what the
served application asks; `listener` is the TLS server; `state` is what the page about sharing shows.

Nothing here knows Flask, rows or views. `certificates` and `listener` import heavy packages and are
imported only where they are used, so that plain `quartervent serve` starts as fast as without them.
"""
