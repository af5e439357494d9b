"""How alembic reaches the tables; run by `api.store.upgrade` only."""

from alembic import context

from api.store.tables import Table


def own_tables_only(
    _thing: object,
    name: str | None,
    kind: str,
    reflected: bool,  # noqa: FBT001  alembic passes it by place
    partner: object,
) -> bool:
    """Leave tables of other libraries in the same database alone."""
    return not (kind == "table" and reflected and partner is None and name not in OURS)


OURS = set(Table.metadata.tables)

context.configure(
    connection=context.config.attributes["connection"],
    target_metadata=Table.metadata,
    render_as_batch=True,
    compare_type=True,
    include_object=own_tables_only,
)
with context.begin_transaction():
    context.run_migrations()
