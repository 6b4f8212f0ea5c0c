"""Own pages of a piece: the printed part with the player's fingerings on it."""
