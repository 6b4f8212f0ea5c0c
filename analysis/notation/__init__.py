"""The child process that reads untrusted score files; `analysis.score.files` starts it.

It stands alone: nothing here imports more of the project than this package and `analysis.sandbox`,
and nothing outside the standard library, so that the child starts fast. What a file says is told as
a `PartTranscript`, as it is said; what it means is decided in `analysis.score`.
"""
