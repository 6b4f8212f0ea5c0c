"""Rules of addresses that are compiled with their first use.

Flask compiles for each rule two functions that build its address, which takes most of the time in
which an application is put together; a page needs a few of them.
"""

from collections.abc import Callable

from werkzeug.routing import Rule

Build = Callable[..., tuple[str, str]]


class LateRule(Rule):
    """A rule that compiles what builds its address when one is asked for."""

    def _compile_builder(self, append_unknown: bool = True) -> Build:
        compile_now = super()._compile_builder

        def build(rule: LateRule, /, **values: object) -> tuple[str, str]:
            compiled = compile_now(append_unknown)
            name = "_build_unknown" if append_unknown else "_build"
            setattr(rule, name, compiled.__get__(rule, None))
            return compiled(rule, **values)

        return build
