"""The entry of a fingering: all that its page and the log page show, each read at once."""
