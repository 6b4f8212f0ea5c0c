"""Addresses: each names a view that is there and takes what stands in the address."""

import inspect
from importlib import import_module

import pytest
from werkzeug.routing import Map, Rule

from webapp.pages.addresses import (
    ASKED_BY_SCRIPTS,
    SHARED_VIEWS,
    VIEWS,
    Address,
    list_addresses,
)

ADDRESSES = [*list_addresses(VIEWS), *list_addresses(SHARED_VIEWS)]


@pytest.mark.parametrize("address", ADDRESSES, ids=[each.endpoint for each in ADDRESSES])
def test_a_view_takes_what_its_address_holds(address: Address) -> None:
    view = getattr(import_module(f"webapp.pages.{address.module}"), address.view)
    rule = Rule(address.rule)
    Map([rule])
    assert set(inspect.signature(view).parameters) == rule.arguments
    assert set(address.methods) <= {"GET", "POST"}
    assert address.methods


def test_addresses_for_scripts_are_there() -> None:
    assert {each.endpoint for each in ADDRESSES} >= ASKED_BY_SCRIPTS


def test_no_two_views_have_one_address() -> None:
    asked = [(each.rule, method) for each in ADDRESSES for method in each.methods]
    assert len(asked) == len(set(asked))
