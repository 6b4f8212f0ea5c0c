"""The day of the concert: what lies on the stand, what to warm up, what a new A changes."""
