"""The first released schema.

Carries frozen copies of what it needs and never imports the program.
"""

from collections.abc import Iterator
from typing import Any

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None
branch_labels = None
depends_on = None

Column = sa.Column[Any]
APPEND_ONLY = ("entry", "load", "load_area", "material_use", "coat", "reading", "advice")
SEARCH = (
    "CREATE VIRTUAL TABLE job_text USING fts5(who, place, look, season, rest, "
    "tokenize = 'unicode61 remove_diacritics 0', prefix = '1 2 3')",
    "CREATE VIRTUAL TABLE job_word USING fts5vocab(job_text, row)",
)
SEARCH_ON_SERVER = (
    """
    CREATE TABLE job_text (
        job_id BIGINT NOT NULL, who TEXT COLLATE "C", place TEXT COLLATE "C", look TEXT COLLATE "C",
        season TEXT COLLATE "C", rest TEXT COLLATE "C",
        words BIGINT NOT NULL GENERATED ALWAYS AS (
            coalesce(cardinality(string_to_array(who, ' ')), 0)
            + coalesce(cardinality(string_to_array(place, ' ')), 0)
            + coalesce(cardinality(string_to_array(look, ' ')), 0)
            + coalesce(cardinality(string_to_array(season, ' ')), 0)
            + coalesce(cardinality(string_to_array(rest, ' ')), 0)
        ) STORED,
        CONSTRAINT pk_job_text PRIMARY KEY (job_id) INCLUDE (words)
    )
    """,
    """
    CREATE TABLE job_word_at (
        job_id BIGINT NOT NULL, weight INTEGER NOT NULL, spot INTEGER NOT NULL, term TEXT COLLATE "C" NOT NULL,
        spots INTEGER[],
        CONSTRAINT pk_job_word_at PRIMARY KEY (term, job_id) INCLUDE (weight, spot, spots)
    )
    """,
    'CREATE TABLE job_word (term TEXT COLLATE "C" NOT NULL, CONSTRAINT pk_job_word PRIMARY KEY (term))',
    """
    CREATE TABLE job_word_tally (
        part BIGINT NOT NULL, jobs BIGINT NOT NULL, words BIGINT NOT NULL,
        CONSTRAINT pk_job_word_tally PRIMARY KEY (part)
    )
    """,
    """
    CREATE FUNCTION job_text_spots(who TEXT, place TEXT, look TEXT, season TEXT, rest TEXT)
    RETURNS TABLE (term TEXT, weight INTEGER, spot INTEGER, spots INTEGER[]) LANGUAGE sql IMMUTABLE AS $$
        SELECT left(word, 500) COLLATE "C", CAST(sum(counts) AS INTEGER),
            CAST(min(number * 16777216 + nth - 1) AS INTEGER),
            CASE WHEN count(*) > 1 THEN
                array_agg(CAST(number * 16777216 + nth - 1 AS INTEGER) ORDER BY number, nth)
            END
        FROM (VALUES (0, 12, who), (1, 8, place), (2, 6, look), (3, 4, season), (4, 1, rest))
                AS texts (number, counts, said),
            string_to_table(said, ' ') WITH ORDINALITY AS words (word, nth)
        GROUP BY left(word, 500) COLLATE "C"
    $$
    """,
    """
    CREATE FUNCTION job_text_words_insert() RETURNS trigger LANGUAGE plpgsql AS $$
    BEGIN
        IF NOT EXISTS (SELECT 1 FROM come) THEN
            RETURN NULL;
        END IF;
        WITH made AS (
            INSERT INTO job_word_at (term, job_id, weight, spot, spots)
            SELECT s.term, t.job_id, s.weight, s.spot, s.spots
            FROM come AS t, job_text_spots(t.who, t.place, t.look, t.season, t.rest) AS s ORDER BY 1, 2
            RETURNING term
        )
        INSERT INTO job_word (term) SELECT DISTINCT term FROM made ON CONFLICT DO NOTHING;
        INSERT INTO job_word_tally AS held (part, jobs, words)
        SELECT job_id / 256, count(*), sum(words) FROM come GROUP BY 1
        ON CONFLICT (part) DO UPDATE SET jobs = held.jobs + excluded.jobs, words = held.words + excluded.words;
        RETURN NULL;
    END $$
    """,
    """
    CREATE FUNCTION job_text_words_update() RETURNS trigger LANGUAGE plpgsql AS $$
    BEGIN
        IF NOT EXISTS (SELECT 1 FROM gone) THEN
            RETURN NULL;
        END IF;
        WITH was AS (
            SELECT s.term, t.job_id FROM gone AS t, job_text_spots(t.who, t.place, t.look, t.season, t.rest) AS s
            EXCEPT
            SELECT s.term, t.job_id FROM come AS t, job_text_spots(t.who, t.place, t.look, t.season, t.rest) AS s
        )
        DELETE FROM job_word_at AS a USING was WHERE a.term = was.term AND a.job_id = was.job_id;
        WITH made AS (
            INSERT INTO job_word_at AS a (term, job_id, weight, spot, spots)
            SELECT s.term, t.job_id, s.weight, s.spot, s.spots
            FROM come AS t, job_text_spots(t.who, t.place, t.look, t.season, t.rest) AS s
            EXCEPT
            SELECT s.term, t.job_id, s.weight, s.spot, s.spots
            FROM gone AS t, job_text_spots(t.who, t.place, t.look, t.season, t.rest) AS s
            ON CONFLICT (term, job_id)
            DO UPDATE SET weight = excluded.weight, spot = excluded.spot, spots = excluded.spots
            RETURNING term
        )
        INSERT INTO job_word (term) SELECT DISTINCT term FROM made ON CONFLICT DO NOTHING;
        DELETE FROM job_word AS w USING (
            SELECT s.term FROM gone AS t, job_text_spots(t.who, t.place, t.look, t.season, t.rest) AS s
            EXCEPT
            SELECT s.term FROM come AS t, job_text_spots(t.who, t.place, t.look, t.season, t.rest) AS s
        ) AS was
        WHERE w.term = was.term AND NOT EXISTS (SELECT 1 FROM job_word_at AS a WHERE a.term = w.term);
        INSERT INTO job_word_tally AS held (part, jobs, words)
        SELECT part, sum(jobs), sum(words) FROM (
            SELECT job_id / 256 AS part, 1 AS jobs, words FROM come
            UNION ALL SELECT job_id / 256, -1, -words FROM gone
        ) AS moved GROUP BY part HAVING sum(jobs) <> 0 OR sum(words) <> 0
        ON CONFLICT (part) DO UPDATE SET jobs = held.jobs + excluded.jobs, words = held.words + excluded.words;
        RETURN NULL;
    END $$
    """,
    """
    CREATE FUNCTION job_text_words_delete() RETURNS trigger LANGUAGE plpgsql AS $$
    BEGIN
        DELETE FROM job_word_at AS a USING gone AS t, job_text_spots(t.who, t.place, t.look, t.season, t.rest) AS s
        WHERE a.term = s.term AND a.job_id = t.job_id;
        DELETE FROM job_word AS w USING (
            SELECT DISTINCT s.term
            FROM gone AS t, job_text_spots(t.who, t.place, t.look, t.season, t.rest) AS s
        ) AS was
        WHERE w.term = was.term AND NOT EXISTS (SELECT 1 FROM job_word_at AS a WHERE a.term = w.term);
        UPDATE job_word_tally AS held SET jobs = held.jobs - less.jobs, words = held.words - less.words
        FROM (SELECT job_id / 256 AS part, count(*) AS jobs, sum(words) AS words FROM gone GROUP BY 1) AS less
        WHERE held.part = less.part;
        RETURN NULL;
    END $$
    """,
    *(
        f"CREATE TRIGGER job_text_words_{change.lower()} AFTER {change} ON job_text {tables} "
        f"FOR EACH STATEMENT EXECUTE FUNCTION job_text_words_{change.lower()}()"
        for change, tables in (
            ("INSERT", "REFERENCING NEW TABLE AS come"),
            ("UPDATE", "REFERENCING OLD TABLE AS gone NEW TABLE AS come"),
            ("DELETE", "REFERENCING OLD TABLE AS gone"),
        )
    ),
)
"""The words of each job with where they stand, kept by triggers: the server has no index like that."""
REFUSES = """
CREATE FUNCTION append_only() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    RAISE EXCEPTION '% is append-only: log a correction', TG_TABLE_NAME
        USING ERRCODE = 'integrity_constraint_violation';
END $$
"""


def upgrade() -> None:
    for create in (
        _customer, _draft, _maker, _person, _plant, _recipe, _setting, _site, _buried, _job, _mix,
        _product, _stage, _advice, _area, _job_facet, _job_line, _lot, _entry, _shape,
        _stage_material, _coat, _load, _material_use, _reading, _load_area,
    ):  # fmt: skip
        create()
    if op.get_bind().dialect.name == "sqlite":
        for statement in SEARCH:
            op.execute(statement)
    else:
        op.execute(REFUSES)
        for statement in SEARCH_ON_SERVER:
            op.execute(statement)
    for table in APPEND_ONLY:
        _append_only(table)


def _append_only(table: str) -> None:
    if op.get_bind().dialect.name == "postgresql":
        for change in ("update", "delete"):
            op.execute(
                f"CREATE TRIGGER {table}_no_{change} BEFORE {change.upper()} ON {table} "
                "FOR EACH ROW EXECUTE FUNCTION append_only()"
            )
        return
    body = f"ON {table} BEGIN SELECT RAISE(ABORT, '{table} is append-only: log a correction'); END"
    op.execute(f"CREATE TRIGGER {table}_no_update BEFORE UPDATE {body}")
    op.execute(f"CREATE TRIGGER {table}_no_delete BEFORE DELETE {body}")


def _identified() -> Iterator[Column]:
    yield from (*_wholes("id"), *_texts("uid"), *_wholes("version", default="1"))


def _texts(*names: str, null: bool = False, default: str | None = None) -> Iterator[Column]:
    yield from (sa.Column(name, sa.Text(), nullable=null, server_default=default) for name in names)


def _wholes(*names: str, null: bool = False, default: str | None = None) -> Iterator[Column]:
    yield from (sa.Column(name, sa.Integer(), nullable=null, server_default=default) for name in names)


def _reals(*names: str, null: bool = False) -> Iterator[Column]:
    kind: sa.types.TypeEngine[float] = sa.Double().with_variant(sa.REAL(), "sqlite")
    yield from (sa.Column(name, kind, nullable=null) for name in names)


def _check(table: str, name: str, condition: str) -> sa.CheckConstraint:
    return sa.CheckConstraint(condition, name=f"ck_{table}_{name}")


def _filled(table: str, *columns: str) -> Iterator[sa.CheckConstraint]:
    yield from (_check(table, f"{name}_filled", f"{name} <> ''") for name in columns)


def _within(table: str, *columns: str) -> Iterator[sa.CheckConstraint]:
    yield from (_check(table, f"{name}_within", f"{name} BETWEEN 0 AND 1000000000") for name in columns)


def _flags(table: str, *columns: str) -> Iterator[sa.CheckConstraint]:
    yield from (_check(table, f"{name}_flag", f"{name} IN (0, 1)") for name in columns)


def _customer() -> None:
    op.create_table(
        "customer",
        *_identified(),
        *_texts("name", "name_key"),
        *_texts("phone", "email", "note", null=True),
        sa.PrimaryKeyConstraint("id", name="pk_customer"),
        sa.UniqueConstraint("uid", name="uq_customer_uid"),
        *_filled("customer", "name"),
        sqlite_strict=True,
    )
    op.create_index("ix_customer_name_key", "customer", ["name_key"])


def _draft() -> None:
    op.create_table(
        "draft",
        *_texts("key", "body", "saved"),
        sa.PrimaryKeyConstraint("key", name="pk_draft"),
        sqlite_strict=True,
    )


def _maker() -> None:
    op.create_table(
        "maker",
        *_identified(),
        *_texts("name", "name_key"),
        sa.PrimaryKeyConstraint("id", name="pk_maker"),
        sa.UniqueConstraint("name_key", name="uq_maker_name_key"),
        sa.UniqueConstraint("uid", name="uq_maker_uid"),
        *_filled("maker", "name"),
        sqlite_strict=True,
    )


def _person() -> None:
    op.create_table(
        "person",
        *_identified(),
        *_texts("name", "name_key"),
        sa.PrimaryKeyConstraint("id", name="pk_person"),
        sa.UniqueConstraint("name_key", name="uq_person_name_key"),
        sa.UniqueConstraint("uid", name="uq_person_uid"),
        *_filled("person", "name"),
        sqlite_strict=True,
    )


def _plant() -> None:
    op.create_table(
        "plant",
        *_identified(),
        *_texts("name", "name_key"),
        sa.PrimaryKeyConstraint("id", name="pk_plant"),
        sa.UniqueConstraint("name_key", name="uq_plant_name_key"),
        sa.UniqueConstraint("uid", name="uq_plant_uid"),
        *_filled("plant", "name"),
        sqlite_strict=True,
    )


def _recipe() -> None:
    op.create_table(
        "recipe",
        *_identified(),
        *_texts("name", "name_key"),
        *_wholes("from_id", null=True),
        *_texts("frozen", null=True),
        sa.PrimaryKeyConstraint("id", name="pk_recipe"),
        sa.UniqueConstraint("uid", name="uq_recipe_uid"),
        sa.ForeignKeyConstraint(["from_id"], ["recipe.id"], name="fk_recipe_from_id"),
        *_filled("recipe", "name"),
        sqlite_strict=True,
    )
    op.create_index("ix_recipe_from_id", "recipe", ["from_id"])
    op.create_index("ix_recipe_name_key", "recipe", ["name_key"])


def _setting() -> None:
    op.create_table(
        "setting",
        *_texts("key", "value", "changed"),
        sa.PrimaryKeyConstraint("key", name="pk_setting"),
        sqlite_strict=True,
    )


def _site() -> None:
    op.create_table(
        "site",
        *_identified(),
        *_texts("street", "street_key"),
        *_texts("town", "town_key", null=True),
        *_texts("zone"),
        *_texts("exposure", default="unknown"),
        *_texts("map_note", null=True),
        sa.PrimaryKeyConstraint("id", name="pk_site"),
        sa.UniqueConstraint("uid", name="uq_site_uid"),
        *_filled("site", "street"),
        _check("site", "exposure_known", "exposure IN ('unknown', 'sun', 'part shade', 'shade', 'covered')"),
        sqlite_strict=True,
    )
    op.create_index("ix_site_street_key", "site", ["street_key"])


def _buried() -> None:
    op.create_table(
        "buried",
        *_identified(),
        *_wholes("site_id"),
        *_texts("what"),
        *_texts("place", null=True),
        *_reals("depth_in", null=True),
        sa.PrimaryKeyConstraint("id", name="pk_buried"),
        sa.UniqueConstraint("uid", name="uq_buried_uid"),
        sa.ForeignKeyConstraint(["site_id"], ["site.id"], name="fk_buried_site_id"),
        *_filled("buried", "what"),
        *_within("buried", "depth_in"),
        sqlite_strict=True,
    )
    op.create_index("ix_buried_site_id", "buried", ["site_id"])


def _job() -> None:
    op.create_table(
        "job",
        *_identified(),
        *_texts("handle", "name", "name_key"),
        *_wholes("customer_id", "site_id"),
        *_wholes("reference_id", null=True),
        *_texts("state", default="poured"),
        *_texts("planned_on", "note", null=True),
        *_texts("logged"),
        sa.PrimaryKeyConstraint("id", name="pk_job"),
        sa.UniqueConstraint("handle", name="uq_job_handle"),
        sa.UniqueConstraint("uid", name="uq_job_uid"),
        sa.ForeignKeyConstraint(["customer_id"], ["customer.id"], name="fk_job_customer_id"),
        sa.ForeignKeyConstraint(["reference_id"], ["job.id"], name="fk_job_reference_id"),
        sa.ForeignKeyConstraint(["site_id"], ["site.id"], name="fk_job_site_id"),
        *_filled("job", "handle"),
        _check("job", "state_known", "state IN ('planned', 'poured', 'archived')"),
        sqlite_strict=True,
    )
    op.create_index("ix_job_customer_id", "job", ["customer_id"])
    op.create_index("ix_job_reference_id", "job", ["reference_id"])
    op.create_index("ix_job_site_id", "job", ["site_id"])


def _mix() -> None:
    op.create_table(
        "mix",
        *_identified(),
        *_wholes("plant_id", null=True),
        *_texts("number", "cement_kind", "cement_mill", null=True),
        *_reals("cement_lb_per_yd3", null=True),
        *_texts("scm_kind", null=True),
        *_reals("scm_lb_per_yd3", null=True),
        *_texts("admixtures", "sand", "valid_from", "valid_to", null=True),
        sa.PrimaryKeyConstraint("id", name="pk_mix"),
        sa.UniqueConstraint("uid", name="uq_mix_uid"),
        sa.ForeignKeyConstraint(["plant_id"], ["plant.id"], name="fk_mix_plant_id"),
        *_within("mix", "cement_lb_per_yd3", "scm_lb_per_yd3"),
        _check("mix", "valid_in_order", "valid_from <= valid_to"),
        sqlite_strict=True,
    )
    op.create_index("ix_mix_plant_id", "mix", ["plant_id"])


def _product() -> None:
    op.create_table(
        "product",
        *_identified(),
        *_wholes("maker_id", null=True),
        *_texts("name", "name_key", "kind"),
        *_texts("form", default="powder"),
        *_texts("chemistry", null=True),
        *_reals("solids_percent", "max_percent_of_cement", "pack_lb", null=True),
        sa.PrimaryKeyConstraint("id", name="pk_product"),
        sa.UniqueConstraint("uid", name="uq_product_uid"),
        sa.ForeignKeyConstraint(["maker_id"], ["maker.id"], name="fk_product_maker_id"),
        *_filled("product", "kind", "name"),
        *_within("product", "pack_lb"),
        _check("product", "form_known", "form IN ('powder', 'liquid')"),
        _check("product", "max_percent_of_cement_within", "max_percent_of_cement BETWEEN 0 AND 100"),
        _check("product", "solids_percent_within", "solids_percent BETWEEN 0 AND 100"),
        sqlite_strict=True,
    )
    op.create_index("ix_product_maker_id", "product", ["maker_id"])
    op.create_index(
        "uq_product_shade", "product", ["name_key", "kind", sa.text("coalesce(maker_id, 0)")], unique=True
    )


def _stage() -> None:
    op.create_table(
        "stage",
        *_wholes("id", "recipe_id", "position"),
        *_texts("kind"),
        *_texts("params", default="{}"),
        *_wholes("params_version", default="1"),
        sa.PrimaryKeyConstraint("id", name="pk_stage"),
        sa.UniqueConstraint("recipe_id", "position", name="uq_stage_recipe_id_position"),
        sa.ForeignKeyConstraint(["recipe_id"], ["recipe.id"], name="fk_stage_recipe_id"),
        *_filled("stage", "kind"),
        _check("stage", "params_object", "params LIKE '{%}'"),
        _check("stage", "params_version_within", "params_version BETWEEN 1 AND 1000000000"),
        sqlite_strict=True,
    )


def _advice() -> None:
    op.create_table(
        "advice",
        *_wholes("id"),
        *_texts("uid"),
        *_wholes("job_id"),
        *_texts("kind", "method", "inputs", "answer", "given"),
        sa.PrimaryKeyConstraint("id", name="pk_advice"),
        sa.UniqueConstraint("uid", name="uq_advice_uid"),
        sa.ForeignKeyConstraint(["job_id"], ["job.id"], name="fk_advice_job_id"),
        *_filled("advice", "kind", "method"),
        sqlite_strict=True,
    )
    op.create_index("ix_advice_job_id", "advice", ["job_id"])


def _area() -> None:
    op.create_table(
        "area",
        *_identified(),
        *_wholes("job_id", "position"),
        *_texts("name", "name_key"),
        *_texts("kind", default="field"),
        *_texts("exposure", default="unknown"),
        *_reals("area_ft2", "depth_in", "edge_yd3", null=True),
        *_wholes("recipe_id", null=True),
        sa.PrimaryKeyConstraint("id", name="pk_area"),
        sa.UniqueConstraint("job_id", "id", name="uq_area_job_id_id"),
        sa.UniqueConstraint("job_id", "name_key", name="uq_area_job_id_name_key"),
        sa.UniqueConstraint("job_id", "position", name="uq_area_job_id_position"),
        sa.UniqueConstraint("uid", name="uq_area_uid"),
        sa.ForeignKeyConstraint(["job_id"], ["job.id"], name="fk_area_job_id"),
        sa.ForeignKeyConstraint(["recipe_id"], ["recipe.id"], name="fk_area_recipe_id"),
        *_filled("area", "name"),
        *_within("area", "area_ft2", "depth_in", "edge_yd3"),
        _check("area", "exposure_known", "exposure IN ('unknown', 'sun', 'part shade', 'shade', 'covered')"),
        _check(
            "area",
            "kind_known",
            "kind IN ('field', 'border', 'band', 'stairs', 'wall', 'repair', 'overlay')",
        ),
        sqlite_strict=True,
    )
    op.create_index("ix_area_recipe_id", "area", ["recipe_id"])


def _job_facet() -> None:
    op.create_table(
        "job_facet",
        *_wholes("job_id"),
        *_texts("facet", "value_key", "value"),
        sa.PrimaryKeyConstraint("job_id", "facet", "value_key", name="pk_job_facet"),
        sa.ForeignKeyConstraint(["job_id"], ["job.id"], name="fk_job_facet_job_id"),
        sqlite_strict=True,
    )
    op.create_index("ix_job_facet_value", "job_facet", ["facet", "value_key"])


def _job_line() -> None:
    op.create_table(
        "job_line",
        *_wholes("job_id"),
        *_texts("handle", "name", "customer", "street"),
        *_texts("town", null=True),
        *_texts("state"),
        *_texts("poured_on", "planned_on", null=True),
        *_texts("sort_on"),
        *_texts(
            "base",
            "release",
            "pattern",
            "base_hex",
            "release_hex",
            "color_name",
            "release_color_name",
            null=True,
        ),
        *_reals("release_left_percent", null=True),
        sa.PrimaryKeyConstraint("job_id", name="pk_job_line"),
        sa.ForeignKeyConstraint(["job_id"], ["job.id"], name="fk_job_line_job_id"),
        sqlite_strict=True,
    )
    op.create_index("ix_job_line_newest", "job_line", ["sort_on", "job_id"])


def _lot() -> None:
    op.create_table(
        "lot",
        *_identified(),
        *_wholes("product_id"),
        *_texts("code", "code_key"),
        sa.PrimaryKeyConstraint("id", name="pk_lot"),
        sa.UniqueConstraint("product_id", "code_key", name="uq_lot_product_id_code_key"),
        sa.UniqueConstraint("uid", name="uq_lot_uid"),
        sa.ForeignKeyConstraint(["product_id"], ["product.id"], name="fk_lot_product_id"),
        *_filled("lot", "code"),
        sqlite_strict=True,
    )


def _entry() -> None:
    op.create_table(
        "entry",
        *_wholes("id"),
        *_texts("uid"),
        *_wholes("job_id", "number"),
        *_wholes("area_id", null=True),
        *_texts("kind", "happened", "logged", "exactness"),
        *_wholes("person_id", null=True),
        *_texts("note", null=True),
        *_wholes("replaces_id", null=True),
        *_wholes("withdrawn", default="0"),
        *_texts("facts", default="{}"),
        *_wholes("facts_version", default="1"),
        sa.PrimaryKeyConstraint("id", name="pk_entry"),
        sa.UniqueConstraint("job_id", "id", name="uq_entry_job_id_id"),
        sa.UniqueConstraint("job_id", "number", name="uq_entry_job_id_number"),
        sa.UniqueConstraint("replaces_id", name="uq_entry_replaces_id"),
        sa.UniqueConstraint("uid", name="uq_entry_uid"),
        sa.ForeignKeyConstraint(["job_id"], ["job.id"], name="fk_entry_job_id"),
        sa.ForeignKeyConstraint(
            ["job_id", "area_id"],
            ["area.job_id", "area.id"],
            name="fk_entry_job_id_area_id",
        ),
        sa.ForeignKeyConstraint(
            ["job_id", "replaces_id"],
            ["entry.job_id", "entry.id"],
            name="fk_entry_job_id_replaces_id",
        ),
        sa.ForeignKeyConstraint(["person_id"], ["person.id"], name="fk_entry_person_id"),
        *_filled("entry", "kind"),
        *_flags("entry", "withdrawn"),
        _check("entry", "exactness_known", "exactness IN ('exact', 'about', 'day')"),
        _check("entry", "facts_object", "facts LIKE '{%}'"),
        _check("entry", "facts_version_within", "facts_version BETWEEN 1 AND 1000000000"),
        _check("entry", "replaces_earlier", "replaces_id < id"),
        _check("entry", "withdrawn_replaces", "withdrawn = 0 OR replaces_id IS NOT NULL"),
        sqlite_strict=True,
    )
    op.create_index("ix_entry_kind_happened", "entry", ["kind", "happened"])
    op.create_index("ix_entry_person_id", "entry", ["person_id"])


def _shape() -> None:
    op.create_table(
        "shape",
        *_wholes("area_id", "position", "sign"),
        *_texts("kind", "dimensions"),
        *_reals("depth_in", null=True),
        sa.PrimaryKeyConstraint("area_id", "position", name="pk_shape"),
        sa.ForeignKeyConstraint(["area_id"], ["area.id"], name="fk_shape_area_id"),
        *_within("shape", "depth_in"),
        _check("shape", "sign_known", "sign IN (-1, 1)"),
        sqlite_strict=True,
    )


def _stage_material() -> None:
    op.create_table(
        "stage_material",
        *_wholes("stage_id", "position", "product_id"),
        *_wholes("lot_id", null=True),
        *_reals("rate", null=True),
        *_texts("unit", null=True),
        sa.PrimaryKeyConstraint("stage_id", "position", name="pk_stage_material"),
        sa.ForeignKeyConstraint(["lot_id"], ["lot.id"], name="fk_stage_material_lot_id"),
        sa.ForeignKeyConstraint(["product_id"], ["product.id"], name="fk_stage_material_product_id"),
        sa.ForeignKeyConstraint(["stage_id"], ["stage.id"], name="fk_stage_material_stage_id"),
        *_within("stage_material", "rate"),
        _check(
            "stage_material",
            "unit_known",
            "unit IN ('lb/yd3', 'lb/sack', '%', 'kg/m3', 'lb/100 ft2', 'ft2/gal')",
        ),
        sqlite_strict=True,
    )
    op.create_index("ix_stage_material_lot_id", "stage_material", ["lot_id"])
    op.create_index("ix_stage_material_product_id", "stage_material", ["product_id"])


def _coat() -> None:
    op.create_table(
        "coat",
        *_wholes("entry_id"),
        *_wholes("number", null=True),
        *_wholes("reseal", default="0"),
        *_reals("area_ft2", "slab_f", "air_f", "humidity_percent", null=True),
        sa.PrimaryKeyConstraint("entry_id", name="pk_coat"),
        sa.ForeignKeyConstraint(["entry_id"], ["entry.id"], name="fk_coat_entry_id"),
        *_within("coat", "area_ft2"),
        *_flags("coat", "reseal"),
        _check("coat", "air_f_within", "air_f BETWEEN -100 AND 300"),
        _check("coat", "humidity_percent_within", "humidity_percent BETWEEN 0 AND 100"),
        _check("coat", "number_within", "number BETWEEN 1 AND 1000000000"),
        _check("coat", "slab_f_within", "slab_f BETWEEN -100 AND 300"),
        sqlite_strict=True,
    )


def _load() -> None:
    op.create_table(
        "load",
        *_wholes("entry_id"),
        *_reals("yards", "returned_yd3", "dumped_yd3", null=True),
        *_texts("ticket", null=True),
        *_wholes("mix_id", null=True),
        *_reals("water_gal", null=True),
        *_texts("water_when", null=True),
        *_reals("slump_in", "slump_end_in", null=True),
        *_wholes("is_balance", default="0"),
        sa.PrimaryKeyConstraint("entry_id", name="pk_load"),
        sa.ForeignKeyConstraint(["entry_id"], ["entry.id"], name="fk_load_entry_id"),
        sa.ForeignKeyConstraint(["mix_id"], ["mix.id"], name="fk_load_mix_id"),
        *_within("load", "dumped_yd3", "returned_yd3", "slump_end_in", "slump_in", "water_gal", "yards"),
        *_flags("load", "is_balance"),
        sqlite_strict=True,
    )
    op.create_index("ix_load_mix_id", "load", ["mix_id"])


def _material_use() -> None:
    op.create_table(
        "material_use",
        *_wholes("entry_id", "position", "product_id"),
        *_wholes("lot_id", null=True),
        *_reals("amount", null=True),
        *_texts("unit"),
        *_wholes("reclaimed", default="0"),
        sa.PrimaryKeyConstraint("entry_id", "position", name="pk_material_use"),
        sa.ForeignKeyConstraint(["entry_id"], ["entry.id"], name="fk_material_use_entry_id"),
        sa.ForeignKeyConstraint(["lot_id"], ["lot.id"], name="fk_material_use_lot_id"),
        sa.ForeignKeyConstraint(["product_id"], ["product.id"], name="fk_material_use_product_id"),
        *_within("material_use", "amount"),
        *_flags("material_use", "reclaimed"),
        _check("material_use", "unit_known", "unit IN ('lb', 'oz', 'gal', 'fl oz', 'kg', 'L')"),
        sqlite_strict=True,
    )
    op.create_index("ix_material_use_lot_id", "material_use", ["lot_id"])
    op.create_index("ix_material_use_product_id", "material_use", ["product_id"])


def _reading() -> None:
    op.create_table(
        "reading",
        *_wholes("entry_id"),
        *_reals("lightness", "a", "b"),
        *_reals("sd_lightness", "sd_a", "sd_b", null=True),
        *_texts("spot"),
        *_wholes("damp", "sealed", default="0"),
        *_texts("source"),
        sa.PrimaryKeyConstraint("entry_id", name="pk_reading"),
        sa.ForeignKeyConstraint(["entry_id"], ["entry.id"], name="fk_reading_entry_id"),
        *_filled("reading", "spot"),
        *_within("reading", "sd_a", "sd_b", "sd_lightness"),
        *_flags("reading", "damp", "sealed"),
        _check("reading", "a_within", "a BETWEEN -200 AND 200"),
        _check("reading", "b_within", "b BETWEEN -200 AND 200"),
        _check("reading", "lightness_within", "lightness BETWEEN 0 AND 100"),
        sqlite_strict=True,
    )
    op.create_index("ix_reading_lightness", "reading", ["lightness"])


def _load_area() -> None:
    op.create_table(
        "load_area",
        *_wholes("entry_id", "area_id"),
        *_reals("yards", null=True),
        sa.PrimaryKeyConstraint("entry_id", "area_id", name="pk_load_area"),
        sa.ForeignKeyConstraint(["area_id"], ["area.id"], name="fk_load_area_area_id"),
        sa.ForeignKeyConstraint(["entry_id"], ["load.entry_id"], name="fk_load_area_entry_id"),
        *_within("load_area", "yards"),
        sqlite_strict=True,
    )
    op.create_index("ix_load_area_area_id", "load_area", ["area_id"])
