"""The tables of the notebook, and how they came to be."""

from __future__ import annotations

__all__ = ["SCHEMA_VERSION", "SEALS_SINCE", "VERSIONS"]

#: How the tables came to be: statements of version 1, then what each later version changed.  Versions
#: that were released are never edited; a new one is added at the end.
VERSIONS: tuple[tuple[str, ...], ...] = (
    (
        "CREATE TABLE recipe (id INTEGER PRIMARY KEY, name TEXT NOT NULL, folded TEXT NOT NULL UNIQUE)",
        """CREATE TABLE version (id INTEGER PRIMARY KEY,
            recipe INTEGER NOT NULL REFERENCES recipe (id),
            number INTEGER NOT NULL CHECK (number >= 1),
            kept TEXT NOT NULL, cook TEXT NOT NULL, note TEXT NOT NULL,
            toml TEXT NOT NULL, seal TEXT NOT NULL, made_with TEXT NOT NULL,
            UNIQUE (recipe, number))""",
        """CREATE TABLE lot (id INTEGER PRIMARY KEY, key TEXT NOT NULL, supplier TEXT NOT NULL, date TEXT,
            price_per_kg REAL CHECK (typeof(price_per_kg) IN ('real', 'null')),
            reading REAL CHECK (typeof(reading) IN ('real', 'null')),
            scale TEXT NOT NULL,
            temperature_c REAL NOT NULL CHECK (typeof(temperature_c) = 'real'),
            ph REAL CHECK (typeof(ph) IN ('real', 'null')),
            acidity REAL CHECK (typeof(acidity) IN ('real', 'null')),
            acidity_as TEXT NOT NULL)""",
        """CREATE TABLE batch (id INTEGER PRIMARY KEY, uid TEXT NOT NULL UNIQUE,
            version INTEGER NOT NULL REFERENCES version (id),
            made TEXT NOT NULL, cook TEXT NOT NULL, parts INTEGER NOT NULL,
            brix REAL CHECK (typeof(brix) IN ('real', 'null')),
            churn_minutes REAL CHECK (typeof(churn_minutes) IN ('real', 'null')),
            draw_c REAL CHECK (typeof(draw_c) IN ('real', 'null')),
            serving_c REAL CHECK (typeof(serving_c) IN ('real', 'null')),
            overrun_percent REAL CHECK (typeof(overrun_percent) IN ('real', 'null')),
            note TEXT NOT NULL)""",
        """CREATE TABLE weight (id INTEGER PRIMARY KEY,
            batch INTEGER NOT NULL REFERENCES batch (id), key TEXT NOT NULL,
            grams REAL NOT NULL CHECK (typeof(grams) = 'real' AND grams >= 0.0),
            lot INTEGER REFERENCES lot (id), UNIQUE (batch, key))""",
        """CREATE TABLE verdict (id INTEGER PRIMARY KEY, uid TEXT NOT NULL UNIQUE,
            batch INTEGER NOT NULL REFERENCES batch (id),
            at_c REAL CHECK (typeof(at_c) IN ('real', 'null')),
            firmness INTEGER CHECK (firmness IN (-2, -1, 0, 1, 2)),
            sweetness INTEGER CHECK (sweetness IN (-2, -1, 0, 1, 2)),
            sandy INTEGER NOT NULL CHECK (sandy IN (0, 1)),
            icy INTEGER NOT NULL CHECK (icy IN (0, 1)), note TEXT NOT NULL)""",
        "CREATE INDEX batch_by_version ON batch (version)",
        "CREATE INDEX verdict_by_batch ON verdict (batch)",
    ),
    (
        "ALTER TABLE batch ADD COLUMN struck TEXT NOT NULL DEFAULT ''",
        "ALTER TABLE verdict ADD COLUMN cook TEXT NOT NULL DEFAULT ''",
        """CREATE TABLE weighing (id INTEGER PRIMARY KEY,
            batch INTEGER NOT NULL REFERENCES batch (id), key TEXT NOT NULL, step TEXT NOT NULL,
            before_g REAL NOT NULL CHECK (typeof(before_g) = 'real' AND before_g > 0.0),
            after_g REAL NOT NULL CHECK (typeof(after_g) = 'real' AND after_g > 0.0),
            herb_g REAL CHECK (typeof(herb_g) IN ('real', 'null')))""",
        "CREATE INDEX weighing_by_batch ON weighing (batch)",
    ),
    (
        "ALTER TABLE lot ADD COLUMN name TEXT NOT NULL DEFAULT ''",
        "ALTER TABLE lot ADD COLUMN grams REAL CHECK (typeof(grams) IN ('real', 'null'))",
        "ALTER TABLE lot ADD COLUMN use_by TEXT",
        "ALTER TABLE weight ADD COLUMN taken_g REAL CHECK (typeof(taken_g) IN ('real', 'null'))",
        "ALTER TABLE batch ADD COLUMN made_with TEXT NOT NULL DEFAULT ''",
    ),
    # Short, and without an index: while all statements fit on the first page of a new file, even a file
    # that was cut off after it can be read.
    (
        "CREATE TABLE further (id INTEGER PRIMARY KEY, batch INTEGER NOT NULL REFERENCES batch (id), "
        "key TEXT NOT NULL, lot INTEGER NOT NULL REFERENCES lot (id), "
        "taken_g REAL NOT NULL CHECK (typeof(taken_g) = 'real'))",
    ),
    # A lot has a name of its own, as two deliveries may be alike; and everything is under a seal.
    (
        "ALTER TABLE lot ADD COLUMN uid TEXT NOT NULL DEFAULT ''",
        "CREATE TABLE seal (id INTEGER PRIMARY KEY AUTOINCREMENT, what TEXT NOT NULL, "
        "row INTEGER NOT NULL, digest TEXT NOT NULL, link TEXT NOT NULL)",
    ),
)

#: Version of the tables that this program writes.
SCHEMA_VERSION = len(VERSIONS)

#: The version that brought seals, and lots with names of their own.
SEALS_SINCE = 5
