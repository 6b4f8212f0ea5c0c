"""The store: engine, schema, migrations, clips and the folder of a notebook."""
