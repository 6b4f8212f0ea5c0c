"""Base of every table: the declarative base, and moments in UTC."""

from datetime import UTC, datetime

from sqlalchemy import DateTime, Index, MetaData, String, event, text
from sqlalchemy.engine import Dialect
from sqlalchemy.orm import ColumnProperty, DeclarativeBase, QueryableAttribute
from sqlalchemy.types import TypeDecorator

from analysis.plain_text import clean_text


class UtcDateTime(TypeDecorator[datetime]):
    """A moment in UTC; SQLite forgets the zone, so it is put back on reading."""

    impl = DateTime
    cache_ok = True

    def process_bind_param(self, value: datetime | None, dialect: Dialect) -> datetime | None:
        """Refuse moments without a zone and store the rest as UTC."""
        del dialect
        if value is None:
            return None
        if value.tzinfo is None:
            raise ValueError("a moment without a time zone cannot be stored")
        return value.astimezone(UTC).replace(tzinfo=None)

    def process_result_value(self, value: datetime | None, dialect: Dialect) -> datetime | None:
        """Give the moment its zone back."""
        del dialect
        return None if value is None else value.replace(tzinfo=UTC)


def _clean_on_entry(target: object, value: object, before: object, event: object) -> object:
    """Clean a text as it is written into a row, wherever it came from."""
    del target, before, event
    return clean_text(value) if isinstance(value, str) else value


class Base(DeclarativeBase):
    """Declarative base; the naming convention lets migrations address every constraint."""

    metadata = MetaData(
        naming_convention={
            "ix": "ix_%(table_name)s_%(column_0_N_name)s",
            "uq": "uq_%(table_name)s_%(column_0_N_name)s",
            "ck": "ck_%(table_name)s_%(constraint_name)s",
            "fk": "fk_%(table_name)s_%(column_0_N_name)s",
            "pk": "pk_%(table_name)s",
        }
    )


@event.listens_for(Base, "attribute_instrument", propagate=True)
def _clean_texts(kind: type[Base], key: str, attribute: QueryableAttribute[object]) -> None:
    """Let every column of text be cleaned on entry ("attribute_instrument", SQLAlchemy manual)."""
    del kind, key
    column = attribute.property
    if isinstance(column, ColumnProperty) and isinstance(column.columns[0].type, String):
        event.listen(attribute, "set", _clean_on_entry, retval=True)


def unique_where(name: str, *columns: str, condition: str) -> Index:
    """Return an index that is unique among the rows for which a condition holds.

    It is stated for SQLite, since an option of PostgreSQL's would load that engine's dialect with
    each start; `name_conditions_for_postgresql` says it there.
    """
    return Index(name, *columns, unique=True, sqlite_where=text(condition))


def name_conditions_for_postgresql() -> None:
    """State the conditions of unique indices for PostgreSQL too, before tables are made there."""
    for table in Base.metadata.tables.values():
        for index in table.indexes:
            condition = index.dialect_options["sqlite"]["where"]
            if condition is not None:
                index.dialect_kwargs["postgresql_where"] = condition
