"""The first tables: people, places, works, materials, mounts, visits, findings, forecasts, log."""

import sqlalchemy as sa
from alembic import op

revision = "2026_11_25"
down_revision = None
branch_labels = None
depends_on = None

# What each kind of column is on PostgreSQL and on a STRICT table of SQLite.
WHOLE = sa.BigInteger().with_variant(sa.Integer(), "sqlite")
NUMBER: sa.types.TypeEngine[float] = sa.Double().with_variant(sa.REAL(), "sqlite")
FLAG = sa.Boolean().with_variant(sa.Integer(), "sqlite")


def upgrade() -> None:
    """Make the first tables."""
    op.create_table(
        "finding_term",
        sa.Column("id", WHOLE, nullable=False),
        sa.Column("term", sa.Text(), nullable=False),
        sa.Column("definition", sa.Text(), nullable=False),
        sa.Column("usual_cause", sa.Text(), nullable=False),
        sa.Column("suggests_mechanism", sa.Text(), nullable=True),
        sa.Column("shows_through_glazing", sa.Text(), nullable=False),
        sa.Column("urgency", sa.Text(), nullable=False),
        sa.Column("urgent_sign", sa.Text(), nullable=False),
        sa.Column("applies_to", sa.Text(), nullable=False),
        sa.Column("aat_id", WHOLE, nullable=True),
        sa.Column("caution", sa.Text(), nullable=False),
        sa.CheckConstraint(
            "suggests_mechanism IN ('acid migration', 'adhesive ageing', 'hold failure', 'photo-activity', 'alkali contact', 'sticking to the glazing', 'restraint', 'fogging of the glazing', 'mould', 'accident', 'foxing', 'insects and dust', 'the paper''s own ageing', 'tarnish or ozone', 'face mount')",
            name=op.f("ck_finding_term_suggests_mechanism"),
        ),
        sa.CheckConstraint(
            "aat_id BETWEEN 300000000 AND 399999999", name=op.f("ck_finding_term_aat_id")
        ),
        sa.CheckConstraint(
            "length(applies_to) BETWEEN 1 AND 20", name=op.f("ck_finding_term_applies_to")
        ),
        sa.CheckConstraint("length(caution) <= 20000", name=op.f("ck_finding_term_caution")),
        sa.CheckConstraint("length(definition) <= 20000", name=op.f("ck_finding_term_definition")),
        sa.CheckConstraint(
            "length(shows_through_glazing) BETWEEN 1 AND 10",
            name=op.f("ck_finding_term_shows_through_glazing"),
        ),
        sa.CheckConstraint("length(term) BETWEEN 1 AND 100", name=op.f("ck_finding_term_term")),
        sa.CheckConstraint(
            "length(urgency) BETWEEN 1 AND 20", name=op.f("ck_finding_term_urgency")
        ),
        sa.CheckConstraint(
            "length(urgent_sign) <= 20000", name=op.f("ck_finding_term_urgent_sign")
        ),
        sa.CheckConstraint(
            "length(usual_cause) <= 20000", name=op.f("ck_finding_term_usual_cause")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_finding_term")),
        sqlite_strict=True,
    )
    op.create_index("uq_finding_term_term", "finding_term", ["term"], unique=True)
    op.create_table(
        "first_keeper_link",
        sa.Column("id", WHOLE, nullable=False),
        sa.Column("link_sha256", sa.Text(), nullable=False),
        sa.Column("ends_at", sa.Text(), nullable=False),
        sa.Column("used", FLAG, nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_first_keeper_link")),
        sa.UniqueConstraint("link_sha256", name=op.f("uq_first_keeper_link_link_sha256")),
        sqlite_strict=True,
    )
    op.create_table(
        "house_package",
        sa.Column("id", WHOLE, nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("edition", WHOLE, nullable=False),
        sa.Column("build", sa.Text(), nullable=False),
        sa.Column("ended", FLAG, nullable=False),
        sa.CheckConstraint("edition BETWEEN 1 AND 10000", name=op.f("ck_house_package_edition")),
        sa.CheckConstraint("length(build) <= 20000", name=op.f("ck_house_package_build")),
        sa.CheckConstraint("length(name) BETWEEN 1 AND 100", name=op.f("ck_house_package_name")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_house_package")),
        sqlite_strict=True,
    )
    op.create_index(
        "uq_house_package_current_name",
        "house_package",
        ["name"],
        unique=True,
        sqlite_where=sa.text("ended = 0"),
        postgresql_where=sa.text("NOT ended"),
    )
    op.create_index(
        "uq_house_package_name_edition", "house_package", ["name", "edition"], unique=True
    )
    op.create_table(
        "log_entry",
        sa.Column("seq", WHOLE, autoincrement=False, nullable=False),
        sa.Column("layout", WHOLE, nullable=False),
        sa.Column("prev_sha256", sa.Text(), nullable=False),
        sa.Column("at", sa.Text(), nullable=False),
        sa.Column("actor", sa.Text(), nullable=False),
        sa.Column("payload_sha256", sa.Text(), nullable=False),
        sa.Column("salt", sa.LargeBinary(), nullable=True),
        sa.Column("payload", sa.Text(), nullable=True),
        sa.Column("sha256", sa.Text(), nullable=False),
        sa.CheckConstraint("(salt IS NULL) = (payload IS NULL)", name=op.f("ck_log_entry_whole")),
        sa.CheckConstraint("layout BETWEEN 1 AND 1000", name=op.f("ck_log_entry_layout")),
        sa.CheckConstraint("length(actor) BETWEEN 1 AND 100", name=op.f("ck_log_entry_actor")),
        sa.CheckConstraint("length(at) BETWEEN 1 AND 40", name=op.f("ck_log_entry_at")),
        sa.CheckConstraint(
            "length(payload_sha256) BETWEEN 1 AND 64", name=op.f("ck_log_entry_payload_sha256")
        ),
        sa.CheckConstraint(
            "length(prev_sha256) BETWEEN 1 AND 64", name=op.f("ck_log_entry_prev_sha256")
        ),
        sa.CheckConstraint("length(sha256) BETWEEN 1 AND 64", name=op.f("ck_log_entry_sha256")),
        sa.PrimaryKeyConstraint("seq", name=op.f("pk_log_entry")),
        sqlite_strict=True,
    )
    op.create_table(
        "log_head",
        sa.Column("id", WHOLE, nullable=False),
        sa.Column("seq", WHOLE, nullable=False),
        sa.Column("sha256", sa.Text(), nullable=False),
        sa.CheckConstraint("id = 1", name=op.f("ck_log_head_one_row")),
        sa.CheckConstraint("length(sha256) BETWEEN 1 AND 64", name=op.f("ck_log_head_sha256")),
        sa.CheckConstraint("seq BETWEEN 0 AND 9007199254740992", name=op.f("ck_log_head_seq")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_log_head")),
        sqlite_strict=True,
    )
    op.create_table(
        "material",
        sa.Column("id", WHOLE, nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("kind", sa.Text(), nullable=False),
        sa.Column("claim", sa.Text(), nullable=False),
        sa.Column("caution", sa.Text(), nullable=False),
        sa.Column("note", sa.Text(), nullable=False),
        sa.Column("version", WHOLE, nullable=False),
        sa.CheckConstraint("length(caution) <= 20000", name=op.f("ck_material_caution")),
        sa.CheckConstraint("length(claim) <= 20000", name=op.f("ck_material_claim")),
        sa.CheckConstraint("length(kind) BETWEEN 1 AND 50", name=op.f("ck_material_kind")),
        sa.CheckConstraint("length(name) BETWEEN 1 AND 200", name=op.f("ck_material_name")),
        sa.CheckConstraint("length(note) <= 20000", name=op.f("ck_material_note")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_material")),
        sqlite_strict=True,
    )
    op.create_index("uq_material_name", "material", ["name"], unique=True)
    op.create_table(
        "mount_method",
        sa.Column("id", WHOLE, nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("definition", sa.Text(), nullable=False),
        sa.Column("needs_adhesive", sa.Text(), nullable=False),
        sa.Column("default_hold_grade", sa.Text(), nullable=False),
        sa.Column("frees_by", sa.Text(), nullable=True),
        sa.Column("floats", FLAG, nullable=False),
        sa.Column("covers_all", FLAG, nullable=False),
        sa.Column("hazard", sa.Text(), nullable=False),
        sa.Column("caution", sa.Text(), nullable=False),
        sa.CheckConstraint(
            "frees_by IN ('no adhesive', 'water', 'solvent or heat', 'not without harm')",
            name=op.f("ck_mount_method_frees_by"),
        ),
        sa.CheckConstraint("length(caution) <= 20000", name=op.f("ck_mount_method_caution")),
        sa.CheckConstraint(
            "length(default_hold_grade) <= 20000", name=op.f("ck_mount_method_default_hold_grade")
        ),
        sa.CheckConstraint("length(definition) <= 20000", name=op.f("ck_mount_method_definition")),
        sa.CheckConstraint("length(hazard) <= 20000", name=op.f("ck_mount_method_hazard")),
        sa.CheckConstraint("length(name) BETWEEN 1 AND 100", name=op.f("ck_mount_method_name")),
        sa.CheckConstraint(
            "length(needs_adhesive) BETWEEN 1 AND 20", name=op.f("ck_mount_method_needs_adhesive")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_mount_method")),
        sqlite_strict=True,
    )
    op.create_index("uq_mount_method_name", "mount_method", ["name"], unique=True)
    op.create_table(
        "owner",
        sa.Column("id", WHOLE, nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("version", WHOLE, nullable=False),
        sa.CheckConstraint("length(name) BETWEEN 1 AND 500", name=op.f("ck_owner_name")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_owner")),
        sqlite_strict=True,
    )
    op.create_index("uq_owner_name", "owner", ["name"], unique=True)
    op.create_table(
        "package",
        sa.Column("id", WHOLE, nullable=False),
        sa.Column("in_front", sa.Text(), nullable=False),
        sa.Column("behind", sa.Text(), nullable=False),
        sa.Column("note", sa.Text(), nullable=False),
        sa.Column("version", WHOLE, nullable=False),
        sa.CheckConstraint("behind IN ('this', 'none', 'unknown')", name=op.f("ck_package_behind")),
        sa.CheckConstraint(
            "in_front IN ('this', 'none', 'unknown')", name=op.f("ck_package_in_front")
        ),
        sa.CheckConstraint("length(note) <= 20000", name=op.f("ck_package_note")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_package")),
        sqlite_strict=True,
    )
    op.create_table(
        "place",
        sa.Column("id", WHOLE, nullable=False),
        sa.Column("parent_id", WHOLE, nullable=True),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("use", sa.Text(), nullable=True),
        sa.Column("temperature_c", NUMBER, nullable=True),
        sa.Column("rh_percent", NUMBER, nullable=True),
        sa.Column("lux", NUMBER, nullable=True),
        sa.Column("hours_per_day", NUMBER, nullable=True),
        sa.Column("days_per_year", NUMBER, nullable=True),
        sa.Column("uv_uw_per_lm", NUMBER, nullable=True),
        sa.Column("note", sa.Text(), nullable=False),
        sa.Column("version", WHOLE, nullable=False),
        sa.CheckConstraint(
            "use IN ('display', 'storage', 'box', 'transit')", name=op.f("ck_place_use")
        ),
        sa.CheckConstraint("days_per_year BETWEEN 0 AND 366", name=op.f("ck_place_days_per_year")),
        sa.CheckConstraint("hours_per_day BETWEEN 0 AND 24", name=op.f("ck_place_hours_per_day")),
        sa.CheckConstraint("length(name) BETWEEN 1 AND 200", name=op.f("ck_place_name")),
        sa.CheckConstraint("length(note) <= 20000", name=op.f("ck_place_note")),
        sa.CheckConstraint("lux BETWEEN 0 AND 120000", name=op.f("ck_place_lux")),
        sa.CheckConstraint("parent_id <> id", name=op.f("ck_place_not_in_itself")),
        sa.CheckConstraint("rh_percent BETWEEN 0 AND 100", name=op.f("ck_place_rh_percent")),
        sa.CheckConstraint("temperature_c BETWEEN -30 AND 60", name=op.f("ck_place_temperature_c")),
        sa.CheckConstraint("uv_uw_per_lm BETWEEN 0 AND 2000", name=op.f("ck_place_uv_uw_per_lm")),
        sa.ForeignKeyConstraint(["parent_id"], ["place.id"], name=op.f("fk_place_parent_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_place")),
        sqlite_strict=True,
    )
    op.create_index(
        "uq_place_name_at_top",
        "place",
        ["name"],
        unique=True,
        sqlite_where=sa.text("parent_id IS NULL"),
        postgresql_where=sa.text("parent_id IS NULL"),
    )
    op.create_index("uq_place_parent_id_name", "place", ["parent_id", "name"], unique=True)
    op.create_table(
        "sign_in_try",
        sa.Column("id", WHOLE, nullable=False),
        sa.Column("who_sha256", sa.Text(), nullable=False),
        sa.Column("at", sa.Text(), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_sign_in_try")),
        sqlite_strict=True,
    )
    op.create_index(op.f("ix_sign_in_try_at"), "sign_in_try", ["at"], unique=False)
    op.create_index("ix_sign_in_try_who_at", "sign_in_try", ["who_sha256", "at"], unique=False)
    op.create_table(
        "technique",
        sa.Column("id", WHOLE, nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("technique_group", sa.Text(), nullable=False),
        sa.Column("light_class", WHOLE, nullable=True),
        sa.Column("light_basis", sa.Text(), nullable=False),
        sa.Column("surface", sa.Text(), nullable=False),
        sa.Column("process_group", sa.Text(), nullable=False),
        sa.Column("buffer_advice", sa.Text(), nullable=False),
        sa.Column("groundwood_support", FLAG, nullable=False),
        sa.Column("note", sa.Text(), nullable=False),
        sa.CheckConstraint(
            "surface IN ('friable', 'gelatin', 'other')", name=op.f("ck_technique_surface")
        ),
        sa.CheckConstraint(
            "length(buffer_advice) <= 20000", name=op.f("ck_technique_buffer_advice")
        ),
        sa.CheckConstraint("length(light_basis) <= 20000", name=op.f("ck_technique_light_basis")),
        sa.CheckConstraint("length(name) BETWEEN 1 AND 200", name=op.f("ck_technique_name")),
        sa.CheckConstraint("length(note) <= 20000", name=op.f("ck_technique_note")),
        sa.CheckConstraint(
            "length(process_group) BETWEEN 1 AND 50", name=op.f("ck_technique_process_group")
        ),
        sa.CheckConstraint(
            "length(technique_group) BETWEEN 1 AND 50", name=op.f("ck_technique_technique_group")
        ),
        sa.CheckConstraint("light_class BETWEEN 1 AND 8", name=op.f("ck_technique_light_class")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_technique")),
        sqlite_strict=True,
    )
    op.create_index("uq_technique_name", "technique", ["name"], unique=True)
    op.create_table(
        "treatment_term",
        sa.Column("id", WHOLE, nullable=False),
        sa.Column("term", sa.Text(), nullable=False),
        sa.Column("definition", sa.Text(), nullable=False),
        sa.Column("removes_remains", FLAG, nullable=False),
        sa.Column("caution", sa.Text(), nullable=False),
        sa.CheckConstraint("length(caution) <= 20000", name=op.f("ck_treatment_term_caution")),
        sa.CheckConstraint(
            "length(definition) <= 20000", name=op.f("ck_treatment_term_definition")
        ),
        sa.CheckConstraint("length(term) BETWEEN 1 AND 100", name=op.f("ck_treatment_term_term")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_treatment_term")),
        sqlite_strict=True,
    )
    op.create_index("uq_treatment_term_term", "treatment_term", ["term"], unique=True)
    op.create_table(
        "incident",
        sa.Column("id", WHOLE, nullable=False),
        sa.Column("place_id", WHOLE, nullable=True),
        sa.Column("kind", sa.Text(), nullable=False),
        sa.Column("on_edtf", sa.Text(), nullable=False),
        sa.Column("on_first", WHOLE, nullable=True),
        sa.Column("on_last", WHOLE, nullable=True),
        sa.Column("note", sa.Text(), nullable=False),
        sa.Column("withdrawn_reason", sa.Text(), nullable=True),
        sa.Column("version", WHOLE, nullable=False),
        sa.CheckConstraint("length(kind) BETWEEN 1 AND 100", name=op.f("ck_incident_kind")),
        sa.CheckConstraint("length(note) <= 20000", name=op.f("ck_incident_note")),
        sa.CheckConstraint("length(on_edtf) BETWEEN 1 AND 100", name=op.f("ck_incident_on_edtf")),
        sa.CheckConstraint(
            "length(withdrawn_reason) BETWEEN 0 AND 500", name=op.f("ck_incident_withdrawn_reason")
        ),
        sa.CheckConstraint(
            "on_first BETWEEN -719162 AND 2932896", name=op.f("ck_incident_on_first")
        ),
        sa.CheckConstraint("on_last BETWEEN -719162 AND 2932896", name=op.f("ck_incident_on_last")),
        sa.ForeignKeyConstraint(["place_id"], ["place.id"], name=op.f("fk_incident_place_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_incident")),
        sqlite_strict=True,
    )
    op.create_index(op.f("ix_incident_place_id"), "incident", ["place_id"], unique=False)
    op.create_table(
        "lot",
        sa.Column("id", WHOLE, nullable=False),
        sa.Column("material_id", WHOLE, nullable=False),
        sa.Column("number", sa.Text(), nullable=False),
        sa.Column("received_edtf", sa.Text(), nullable=True),
        sa.Column("received_first", WHOLE, nullable=True),
        sa.Column("received_last", WHOLE, nullable=True),
        sa.Column("in_use", FLAG, nullable=False),
        sa.Column("note", sa.Text(), nullable=False),
        sa.Column("version", WHOLE, nullable=False),
        sa.CheckConstraint("length(note) <= 20000", name=op.f("ck_lot_note")),
        sa.CheckConstraint("length(number) BETWEEN 1 AND 100", name=op.f("ck_lot_number")),
        sa.CheckConstraint(
            "length(received_edtf) BETWEEN 0 AND 100", name=op.f("ck_lot_received_edtf")
        ),
        sa.CheckConstraint(
            "received_first BETWEEN -719162 AND 2932896", name=op.f("ck_lot_received_first")
        ),
        sa.CheckConstraint(
            "received_last BETWEEN -719162 AND 2932896", name=op.f("ck_lot_received_last")
        ),
        sa.ForeignKeyConstraint(["material_id"], ["material.id"], name=op.f("fk_lot_material_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_lot")),
        sqlite_strict=True,
    )
    op.create_index(
        "uq_lot_in_use_material_id",
        "lot",
        ["material_id"],
        unique=True,
        sqlite_where=sa.text("in_use = 1"),
        postgresql_where=sa.text("in_use"),
    )
    op.create_index("uq_lot_material_id_number", "lot", ["material_id", "number"], unique=True)
    op.create_table(
        "material_figures",
        sa.Column("id", WHOLE, nullable=False),
        sa.Column("material_id", WHOLE, nullable=False),
        sa.Column("edition", WHOLE, nullable=False),
        sa.Column("grade", sa.Text(), nullable=True),
        sa.Column("hold_grade", sa.Text(), nullable=True),
        sa.Column("frees_by", sa.Text(), nullable=True),
        sa.Column("ph", NUMBER, nullable=True),
        sa.Column("alkaline_reserve_percent", NUMBER, nullable=True),
        sa.Column("kappa", NUMBER, nullable=True),
        sa.Column("pat", sa.Text(), nullable=False),
        sa.Column("pat_on", WHOLE, nullable=True),
        sa.Column("buffered", sa.Text(), nullable=True),
        sa.Column("barrier", FLAG, nullable=False),
        sa.Column("thickness_um", WHOLE, nullable=True),
        sa.Column("mass_g_per_m2", NUMBER, nullable=True),
        sa.Column("sheet_height_um", WHOLE, nullable=True),
        sa.Column("sheet_width_um", WHOLE, nullable=True),
        sa.Column("uv_block_percent", NUMBER, nullable=True),
        sa.Column("basis", sa.Text(), nullable=False),
        sa.CheckConstraint(
            "frees_by IN ('no adhesive', 'water', 'solvent or heat', 'not without harm')",
            name=op.f("ck_material_figures_frees_by"),
        ),
        sa.CheckConstraint(
            "pat IN ('passed', 'failed', 'not tested')", name=op.f("ck_material_figures_pat")
        ),
        sa.CheckConstraint(
            "alkaline_reserve_percent BETWEEN 0 AND 100",
            name=op.f("ck_material_figures_alkaline_reserve_percent"),
        ),
        sa.CheckConstraint("edition BETWEEN 1 AND 10000", name=op.f("ck_material_figures_edition")),
        sa.CheckConstraint("kappa BETWEEN 0 AND 200", name=op.f("ck_material_figures_kappa")),
        sa.CheckConstraint("length(basis) <= 20000", name=op.f("ck_material_figures_basis")),
        sa.CheckConstraint(
            "length(buffered) BETWEEN 0 AND 3", name=op.f("ck_material_figures_buffered")
        ),
        sa.CheckConstraint(
            "length(grade) BETWEEN 0 AND 100", name=op.f("ck_material_figures_grade")
        ),
        sa.CheckConstraint(
            "length(hold_grade) BETWEEN 0 AND 100", name=op.f("ck_material_figures_hold_grade")
        ),
        sa.CheckConstraint(
            "mass_g_per_m2 BETWEEN 0 AND 100000", name=op.f("ck_material_figures_mass_g_per_m2")
        ),
        sa.CheckConstraint(
            "pat_on BETWEEN -719162 AND 2932896", name=op.f("ck_material_figures_pat_on")
        ),
        sa.CheckConstraint("ph BETWEEN 0 AND 14", name=op.f("ck_material_figures_ph")),
        sa.CheckConstraint(
            "sheet_height_um BETWEEN 1 AND 20000000",
            name=op.f("ck_material_figures_sheet_height_um"),
        ),
        sa.CheckConstraint(
            "sheet_width_um BETWEEN 1 AND 20000000", name=op.f("ck_material_figures_sheet_width_um")
        ),
        sa.CheckConstraint(
            "thickness_um BETWEEN 1 AND 20000000", name=op.f("ck_material_figures_thickness_um")
        ),
        sa.CheckConstraint(
            "uv_block_percent BETWEEN 0 AND 100", name=op.f("ck_material_figures_uv_block_percent")
        ),
        sa.ForeignKeyConstraint(
            ["material_id"], ["material.id"], name=op.f("fk_material_figures_material_id")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_material_figures")),
        sqlite_strict=True,
    )
    op.create_index(
        "uq_material_figures_material_id_edition",
        "material_figures",
        ["material_id", "edition"],
        unique=True,
    )
    op.create_table(
        "person",
        sa.Column("id", WHOLE, nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("role", sa.Text(), nullable=True),
        sa.Column("owner_id", WHOLE, nullable=True),
        sa.Column("password_hash", sa.Text(), nullable=True),
        sa.Column("may_sign_in", FLAG, nullable=False),
        sa.Column("erased_reason", sa.Text(), nullable=True),
        sa.Column("version", WHOLE, nullable=False),
        sa.CheckConstraint(
            "role <> 'owner' OR owner_id IS NOT NULL", name=op.f("ck_person_owner_of")
        ),
        sa.CheckConstraint("role IN ('keeper', 'framer', 'owner')", name=op.f("ck_person_role")),
        sa.CheckConstraint("length(name) BETWEEN 1 AND 200", name=op.f("ck_person_name")),
        sa.CheckConstraint(
            "length(erased_reason) BETWEEN 0 AND 500", name=op.f("ck_person_erased_reason")
        ),
        sa.ForeignKeyConstraint(["owner_id"], ["owner.id"], name=op.f("fk_person_owner_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_person")),
        sqlite_strict=True,
    )
    op.create_index(op.f("ix_person_owner_id"), "person", ["owner_id"], unique=False)
    op.create_index("uq_person_name", "person", ["name"], unique=True)
    op.create_table(
        "work",
        sa.Column("id", WHOLE, nullable=False),
        sa.Column("code", sa.Text(), nullable=False),
        sa.Column(
            "number", sa.Text().with_variant(sa.Text(collation="C"), "postgresql"), nullable=False
        ),
        sa.Column("title", sa.Text(), nullable=False),
        sa.Column("maker", sa.Text(), nullable=False),
        sa.Column("made_edtf", sa.Text(), nullable=True),
        sa.Column("made_first", WHOLE, nullable=True),
        sa.Column("made_last", WHOLE, nullable=True),
        sa.Column("technique_id", WHOLE, nullable=True),
        sa.Column("support", sa.Text(), nullable=False),
        sa.Column("surface", sa.Text(), nullable=True),
        sa.Column("height_um", WHOLE, nullable=True),
        sa.Column("width_um", WHOLE, nullable=True),
        sa.Column("image_left_um", WHOLE, nullable=True),
        sa.Column("image_top_um", WHOLE, nullable=True),
        sa.Column("image_height_um", WHOLE, nullable=True),
        sa.Column("image_width_um", WHOLE, nullable=True),
        sa.Column("replaceability", sa.Text(), nullable=False),
        sa.Column("value_band", sa.Text(), nullable=False),
        sa.Column("light_class", WHOLE, nullable=True),
        sa.Column("owner_id", WHOLE, nullable=True),
        sa.Column("recorded_on", WHOLE, nullable=True),
        sa.Column("note", sa.Text(), nullable=False),
        sa.Column("withdrawn_reason", sa.Text(), nullable=True),
        sa.Column("version", WHOLE, nullable=False),
        sa.CheckConstraint(
            "replaceability IN ('unique', 'small edition', 'replaceable')",
            name=op.f("ck_work_replaceability"),
        ),
        sa.CheckConstraint(
            "surface IN ('friable', 'gelatin', 'other')", name=op.f("ck_work_surface")
        ),
        sa.CheckConstraint(
            "value_band IN ('low', 'normal', 'high')", name=op.f("ck_work_value_band")
        ),
        sa.CheckConstraint(
            "(image_height_um IS NULL) = (image_width_um IS NULL) AND (image_left_um IS NULL) = (image_height_um IS NULL) AND (image_top_um IS NULL) = (image_height_um IS NULL)",
            name=op.f("ck_work_image_whole"),
        ),
        sa.CheckConstraint("height_um BETWEEN 1 AND 20000000", name=op.f("ck_work_height_um")),
        sa.CheckConstraint(
            "image_height_um BETWEEN 1 AND 20000000", name=op.f("ck_work_image_height_um")
        ),
        sa.CheckConstraint(
            "image_left_um BETWEEN 0 AND 20000000", name=op.f("ck_work_image_left_um")
        ),
        sa.CheckConstraint(
            "image_top_um BETWEEN 0 AND 20000000", name=op.f("ck_work_image_top_um")
        ),
        sa.CheckConstraint(
            "image_width_um BETWEEN 1 AND 20000000", name=op.f("ck_work_image_width_um")
        ),
        sa.CheckConstraint("length(code) BETWEEN 1 AND 8", name=op.f("ck_work_code")),
        sa.CheckConstraint("length(made_edtf) BETWEEN 0 AND 100", name=op.f("ck_work_made_edtf")),
        sa.CheckConstraint("length(maker) <= 20000", name=op.f("ck_work_maker")),
        sa.CheckConstraint("length(note) <= 20000", name=op.f("ck_work_note")),
        sa.CheckConstraint("length(number) BETWEEN 1 AND 100", name=op.f("ck_work_number")),
        sa.CheckConstraint("length(support) <= 20000", name=op.f("ck_work_support")),
        sa.CheckConstraint("length(title) BETWEEN 1 AND 500", name=op.f("ck_work_title")),
        sa.CheckConstraint(
            "length(withdrawn_reason) BETWEEN 0 AND 500", name=op.f("ck_work_withdrawn_reason")
        ),
        sa.CheckConstraint("light_class BETWEEN 1 AND 8", name=op.f("ck_work_light_class")),
        sa.CheckConstraint(
            "made_first BETWEEN -719162 AND 2932896", name=op.f("ck_work_made_first")
        ),
        sa.CheckConstraint("made_last BETWEEN -719162 AND 2932896", name=op.f("ck_work_made_last")),
        sa.CheckConstraint(
            "recorded_on BETWEEN -719162 AND 2932896", name=op.f("ck_work_recorded_on")
        ),
        sa.CheckConstraint("width_um BETWEEN 1 AND 20000000", name=op.f("ck_work_width_um")),
        sa.ForeignKeyConstraint(["owner_id"], ["owner.id"], name=op.f("fk_work_owner_id")),
        sa.ForeignKeyConstraint(
            ["technique_id"], ["technique.id"], name=op.f("fk_work_technique_id")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_work")),
        sqlite_strict=True,
    )
    op.create_index(op.f("ix_work_owner_id"), "work", ["owner_id"], unique=False)
    op.create_index(op.f("ix_work_technique_id"), "work", ["technique_id"], unique=False)
    op.create_index("uq_work_code", "work", ["code"], unique=True)
    op.create_index("uq_work_number", "work", ["number"], unique=True)
    op.create_table(
        "api_token",
        sa.Column("id", WHOLE, nullable=False),
        sa.Column("person_id", WHOLE, nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("token_sha256", sa.Text(), nullable=False),
        sa.Column("made_at", sa.Text(), nullable=False),
        sa.Column("ended", FLAG, nullable=False),
        sa.CheckConstraint("length(name) BETWEEN 1 AND 200", name=op.f("ck_api_token_name")),
        sa.ForeignKeyConstraint(["person_id"], ["person.id"], name=op.f("fk_api_token_person_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_api_token")),
        sa.UniqueConstraint("token_sha256", name=op.f("uq_api_token_token_sha256")),
        sqlite_strict=True,
    )
    op.create_index(op.f("ix_api_token_person_id"), "api_token", ["person_id"], unique=False)
    op.create_table(
        "forecast",
        sa.Column("work_id", WHOLE, autoincrement=False, nullable=False),
        sa.Column("score_day", WHOLE, nullable=True),
        sa.Column("due_on", WHOLE, nullable=True),
        sa.Column("due_kind", sa.Text(), nullable=True),
        sa.Column("unframing_on", WHOLE, nullable=True),
        sa.Column("look_on", WHOLE, nullable=True),
        sa.Column("box_check_on", WHOLE, nullable=True),
        sa.Column("remat_by", WHOLE, nullable=True),
        sa.Column("advised_on", WHOLE, nullable=True),
        sa.Column("advice", sa.Text(), nullable=True),
        sa.Column("urgent_sign", sa.Text(), nullable=False),
        sa.Column("urgent_since", WHOLE, nullable=True),
        sa.Column("first_survey", FLAG, nullable=False),
        sa.Column("chance_unseen", NUMBER, nullable=True),
        sa.Column("chance_new_5y", NUMBER, nullable=True),
        sa.Column("weak_layer", sa.Text(), nullable=False),
        sa.Column("verdict", sa.Text(), nullable=True),
        sa.Column("freeing", sa.Text(), nullable=True),
        sa.Column("steps", sa.Text(), nullable=True),
        sa.CheckConstraint(
            "advice IN ('remat', 'rehinge', 'give it a spacer', 'give it room', 'dry or move', 'rest')",
            name=op.f("ck_forecast_advice"),
        ),
        sa.CheckConstraint(
            "due_kind IN ('look', 'unframing', 'box check', 'remat', 'follow-up', 'does not wait', 'first survey')",
            name=op.f("ck_forecast_due_kind"),
        ),
        sa.CheckConstraint(
            "freeing IN ('no adhesive', 'water', 'solvent or heat', 'not without harm')",
            name=op.f("ck_forecast_freeing"),
        ),
        sa.CheckConstraint(
            "verdict IN ('sound', 'doubtful', 'harmful')", name=op.f("ck_forecast_verdict")
        ),
        sa.CheckConstraint(
            "advised_on BETWEEN -719162 AND 2932896", name=op.f("ck_forecast_advised_on")
        ),
        sa.CheckConstraint(
            "box_check_on BETWEEN -719162 AND 2932896", name=op.f("ck_forecast_box_check_on")
        ),
        sa.CheckConstraint("chance_new_5y BETWEEN 0 AND 1", name=op.f("ck_forecast_chance_new_5y")),
        sa.CheckConstraint("chance_unseen BETWEEN 0 AND 1", name=op.f("ck_forecast_chance_unseen")),
        sa.CheckConstraint("due_on BETWEEN -719162 AND 2932896", name=op.f("ck_forecast_due_on")),
        sa.CheckConstraint("length(steps) BETWEEN 0 AND 20000", name=op.f("ck_forecast_steps")),
        sa.CheckConstraint("length(urgent_sign) <= 20000", name=op.f("ck_forecast_urgent_sign")),
        sa.CheckConstraint("length(weak_layer) <= 20000", name=op.f("ck_forecast_weak_layer")),
        sa.CheckConstraint("look_on BETWEEN -719162 AND 2932896", name=op.f("ck_forecast_look_on")),
        sa.CheckConstraint(
            "remat_by BETWEEN -719162 AND 2932896", name=op.f("ck_forecast_remat_by")
        ),
        sa.CheckConstraint(
            "score_day BETWEEN -719162 AND 2932896", name=op.f("ck_forecast_score_day")
        ),
        sa.CheckConstraint(
            "unframing_on BETWEEN -719162 AND 2932896", name=op.f("ck_forecast_unframing_on")
        ),
        sa.CheckConstraint(
            "urgent_since BETWEEN -719162 AND 2932896", name=op.f("ck_forecast_urgent_since")
        ),
        sa.ForeignKeyConstraint(["work_id"], ["work.id"], name=op.f("fk_forecast_work_id")),
        sa.PrimaryKeyConstraint("work_id", name=op.f("pk_forecast")),
        sqlite_strict=True,
    )
    op.create_index("ix_forecast_due_on_work_id", "forecast", ["due_on", "work_id"], unique=False)
    op.create_index("ix_forecast_look_on_work_id", "forecast", ["look_on", "work_id"], unique=False)
    op.create_index(
        "ix_forecast_unframing_on_work_id", "forecast", ["unframing_on", "work_id"], unique=False
    )
    op.create_index(
        "ix_forecast_box_check_on_work_id", "forecast", ["box_check_on", "work_id"], unique=False
    )
    op.create_index(
        "ix_forecast_remat_by_work_id", "forecast", ["remat_by", "work_id"], unique=False
    )
    op.create_index(
        "ix_forecast_urgent",
        "forecast",
        ["due_on", "work_id"],
        unique=False,
        sqlite_where=sa.text("urgent_since IS NOT NULL"),
        postgresql_where=sa.text("urgent_since IS NOT NULL"),
    )
    op.create_index(
        "ix_forecast_first_survey",
        "forecast",
        ["work_id"],
        unique=False,
        sqlite_where=sa.text("first_survey = 1"),
        postgresql_where=sa.text("first_survey"),
    )
    op.create_table(
        "incident_work",
        sa.Column("id", WHOLE, nullable=False),
        sa.Column("incident_id", WHOLE, nullable=False),
        sa.Column("work_id", WHOLE, nullable=False),
        sa.ForeignKeyConstraint(
            ["incident_id"], ["incident.id"], name=op.f("fk_incident_work_incident_id")
        ),
        sa.ForeignKeyConstraint(["work_id"], ["work.id"], name=op.f("fk_incident_work_work_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_incident_work")),
        sqlite_strict=True,
    )
    op.create_index(op.f("ix_incident_work_work_id"), "incident_work", ["work_id"], unique=False)
    op.create_index(
        "uq_incident_work_incident_id_work_id",
        "incident_work",
        ["incident_id", "work_id"],
        unique=True,
    )
    op.create_table(
        "recall",
        sa.Column("id", WHOLE, nullable=False),
        sa.Column("material_id", WHOLE, nullable=True),
        sa.Column("lot_id", WHOLE, nullable=True),
        sa.Column("called_on", WHOLE, nullable=True),
        sa.Column("reason", sa.Text(), nullable=False),
        sa.Column("lifted_on", WHOLE, nullable=True),
        sa.Column("lifted_reason", sa.Text(), nullable=False),
        sa.CheckConstraint(
            "(material_id IS NULL) <> (lot_id IS NULL)", name=op.f("ck_recall_one_target")
        ),
        sa.CheckConstraint(
            "called_on BETWEEN -719162 AND 2932896", name=op.f("ck_recall_called_on")
        ),
        sa.CheckConstraint("length(lifted_reason) <= 20000", name=op.f("ck_recall_lifted_reason")),
        sa.CheckConstraint("length(reason) BETWEEN 1 AND 500", name=op.f("ck_recall_reason")),
        sa.CheckConstraint(
            "lifted_on BETWEEN -719162 AND 2932896", name=op.f("ck_recall_lifted_on")
        ),
        sa.CheckConstraint(
            "lifted_on IS NULL OR lifted_on >= called_on", name=op.f("ck_recall_order")
        ),
        sa.ForeignKeyConstraint(["lot_id"], ["lot.id"], name=op.f("fk_recall_lot_id")),
        sa.ForeignKeyConstraint(
            ["material_id"], ["material.id"], name=op.f("fk_recall_material_id")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_recall")),
        sqlite_strict=True,
    )
    op.create_index(op.f("ix_recall_lot_id"), "recall", ["lot_id"], unique=False)
    op.create_index(op.f("ix_recall_material_id"), "recall", ["material_id"], unique=False)
    op.create_table(
        "repeat_key",
        sa.Column("id", WHOLE, nullable=False),
        sa.Column("person_id", WHOLE, nullable=False),
        sa.Column("request_key", sa.Text(), nullable=False),
        sa.Column("method_and_path", sa.Text(), nullable=False),
        sa.Column("body_sha256", sa.Text(), nullable=False),
        sa.Column("status", WHOLE, nullable=True),
        sa.Column("location", sa.Text(), nullable=True),
        sa.Column("answer", sa.Text(), nullable=True),
        sa.Column("at", sa.Text(), nullable=False),
        sa.CheckConstraint(
            "length(location) BETWEEN 0 AND 500", name=op.f("ck_repeat_key_location")
        ),
        sa.CheckConstraint(
            "length(method_and_path) BETWEEN 1 AND 500", name=op.f("ck_repeat_key_method_and_path")
        ),
        sa.CheckConstraint(
            "length(request_key) BETWEEN 1 AND 200", name=op.f("ck_repeat_key_request_key")
        ),
        sa.CheckConstraint("status BETWEEN 100 AND 599", name=op.f("ck_repeat_key_status")),
        sa.ForeignKeyConstraint(["person_id"], ["person.id"], name=op.f("fk_repeat_key_person_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_repeat_key")),
        sqlite_strict=True,
    )
    op.create_index(op.f("ix_repeat_key_at"), "repeat_key", ["at"], unique=False)
    op.create_index(
        "uq_repeat_key_person_id_request_key",
        "repeat_key",
        ["person_id", "request_key"],
        unique=True,
    )
    op.create_table(
        "sign_in",
        sa.Column("id", WHOLE, nullable=False),
        sa.Column("person_id", WHOLE, nullable=False),
        sa.Column("cookie_sha256", sa.Text(), nullable=False),
        sa.Column("form_sha256", sa.Text(), nullable=False),
        sa.Column("began_at", sa.Text(), nullable=False),
        sa.Column("last_seen_at", sa.Text(), nullable=False),
        sa.Column("ends_at", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(["person_id"], ["person.id"], name=op.f("fk_sign_in_person_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_sign_in")),
        sa.UniqueConstraint("cookie_sha256", name=op.f("uq_sign_in_cookie_sha256")),
        sqlite_strict=True,
    )
    op.create_index(op.f("ix_sign_in_ends_at"), "sign_in", ["ends_at"], unique=False)
    op.create_index(op.f("ix_sign_in_person_id"), "sign_in", ["person_id"], unique=False)
    op.create_table(
        "stay",
        sa.Column("id", WHOLE, nullable=False),
        sa.Column("work_id", WHOLE, nullable=False),
        sa.Column("place_id", WHOLE, nullable=False),
        sa.Column("since_edtf", sa.Text(), nullable=True),
        sa.Column("since_first", WHOLE, nullable=True),
        sa.Column("since_last", WHOLE, nullable=True),
        sa.Column("ended", FLAG, nullable=False),
        sa.Column("ended_edtf", sa.Text(), nullable=True),
        sa.Column("ended_first", WHOLE, nullable=True),
        sa.Column("ended_last", WHOLE, nullable=True),
        sa.Column("by_id", WHOLE, nullable=True),
        sa.Column("note", sa.Text(), nullable=False),
        sa.Column("withdrawn_reason", sa.Text(), nullable=True),
        sa.Column("version", WHOLE, nullable=False),
        sa.CheckConstraint("ended OR ended_edtf IS NULL", name=op.f("ck_stay_ended")),
        sa.CheckConstraint(
            "ended_first BETWEEN -719162 AND 2932896", name=op.f("ck_stay_ended_first")
        ),
        sa.CheckConstraint(
            "ended_last BETWEEN -719162 AND 2932896", name=op.f("ck_stay_ended_last")
        ),
        sa.CheckConstraint("length(ended_edtf) BETWEEN 0 AND 100", name=op.f("ck_stay_ended_edtf")),
        sa.CheckConstraint("length(note) <= 20000", name=op.f("ck_stay_note")),
        sa.CheckConstraint("length(since_edtf) BETWEEN 0 AND 100", name=op.f("ck_stay_since_edtf")),
        sa.CheckConstraint(
            "length(withdrawn_reason) BETWEEN 0 AND 500", name=op.f("ck_stay_withdrawn_reason")
        ),
        sa.CheckConstraint(
            "since_first BETWEEN -719162 AND 2932896", name=op.f("ck_stay_since_first")
        ),
        sa.CheckConstraint(
            "since_last BETWEEN -719162 AND 2932896", name=op.f("ck_stay_since_last")
        ),
        sa.ForeignKeyConstraint(["by_id"], ["person.id"], name=op.f("fk_stay_by_id")),
        sa.ForeignKeyConstraint(["place_id"], ["place.id"], name=op.f("fk_stay_place_id")),
        sa.ForeignKeyConstraint(["work_id"], ["work.id"], name=op.f("fk_stay_work_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_stay")),
        sqlite_strict=True,
    )
    op.create_index(op.f("ix_stay_by_id"), "stay", ["by_id"], unique=False)
    op.create_index("ix_stay_place_id", "stay", ["place_id"], unique=False)
    op.create_index("ix_stay_work_id", "stay", ["work_id"], unique=False)
    op.create_index(
        "uq_stay_current_work_id",
        "stay",
        ["work_id"],
        unique=True,
        sqlite_where=sa.text("ended = 0 AND withdrawn_reason IS NULL"),
        postgresql_where=sa.text("NOT ended AND withdrawn_reason IS NULL"),
    )
    op.create_table(
        "walk",
        sa.Column("id", WHOLE, nullable=False),
        sa.Column("place_id", WHOLE, nullable=False),
        sa.Column("kind", sa.Text(), nullable=False),
        sa.Column("on_edtf", sa.Text(), nullable=False),
        sa.Column("on_first", WHOLE, nullable=True),
        sa.Column("on_last", WHOLE, nullable=True),
        sa.Column("by_id", WHOLE, nullable=True),
        sa.Column("note", sa.Text(), nullable=False),
        sa.CheckConstraint("kind IN ('look', 'unframing', 'box check')", name=op.f("ck_walk_kind")),
        sa.CheckConstraint("length(note) <= 20000", name=op.f("ck_walk_note")),
        sa.CheckConstraint("length(on_edtf) BETWEEN 1 AND 100", name=op.f("ck_walk_on_edtf")),
        sa.CheckConstraint("on_first BETWEEN -719162 AND 2932896", name=op.f("ck_walk_on_first")),
        sa.CheckConstraint("on_last BETWEEN -719162 AND 2932896", name=op.f("ck_walk_on_last")),
        sa.ForeignKeyConstraint(["by_id"], ["person.id"], name=op.f("fk_walk_by_id")),
        sa.ForeignKeyConstraint(["place_id"], ["place.id"], name=op.f("fk_walk_place_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_walk")),
        sqlite_strict=True,
    )
    op.create_index(op.f("ix_walk_by_id"), "walk", ["by_id"], unique=False)
    op.create_index(op.f("ix_walk_place_id"), "walk", ["place_id"], unique=False)
    op.create_table(
        "work_word",
        sa.Column("id", WHOLE, nullable=False),
        sa.Column("work_id", WHOLE, nullable=False),
        sa.Column(
            "word", sa.Text().with_variant(sa.Text(collation="C"), "postgresql"), nullable=False
        ),
        sa.CheckConstraint("length(word) BETWEEN 1 AND 100", name=op.f("ck_work_word_word")),
        sa.ForeignKeyConstraint(["work_id"], ["work.id"], name=op.f("fk_work_word_work_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_work_word")),
        sqlite_strict=True,
    )
    op.create_index("ix_work_word_word_work_id", "work_word", ["word", "work_id"], unique=False)
    op.create_index("ix_work_word_work_id_word", "work_word", ["work_id", "word"], unique=False)
    op.create_table(
        "token_use",
        sa.Column("id", WHOLE, nullable=False),
        sa.Column("token_id", WHOLE, nullable=False),
        sa.Column("last_used_at", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(["token_id"], ["api_token.id"], name=op.f("fk_token_use_token_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_token_use")),
        sqlite_strict=True,
    )
    op.create_index("uq_token_use_token_id", "token_use", ["token_id"], unique=True)
    op.create_table(
        "visit",
        sa.Column("id", WHOLE, nullable=False),
        sa.Column("work_id", WHOLE, nullable=False),
        sa.Column("visit_no", WHOLE, nullable=False),
        sa.Column("on_edtf", sa.Text(), nullable=False),
        sa.Column("on_first", WHOLE, nullable=True),
        sa.Column("on_last", WHOLE, nullable=True),
        sa.Column("kind", sa.Text(), nullable=False),
        sa.Column("reason", sa.Text(), nullable=False),
        sa.Column("by_id", WHOLE, nullable=True),
        sa.Column("by_unknown_hand", FLAG, nullable=False),
        sa.Column("minutes", WHOLE, nullable=True),
        sa.Column("seen_front", FLAG, nullable=False),
        sa.Column("seen_back_of_frame", FLAG, nullable=False),
        sa.Column("seen_margins", FLAG, nullable=False),
        sa.Column("seen_verso", FLAG, nullable=False),
        sa.Column("seen_under_hinges", FLAG, nullable=False),
        sa.Column("stop_why", sa.Text(), nullable=True),
        sa.Column("stop_left", sa.Text(), nullable=True),
        sa.Column("summary", sa.Text(), nullable=False),
        sa.Column("closed_as_it_was", FLAG, nullable=False),
        sa.Column("to_write_up", FLAG, nullable=False),
        sa.Column("walk_id", WHOLE, nullable=True),
        sa.Column("recorded_by_id", WHOLE, nullable=True),
        sa.Column("recorded_on", WHOLE, nullable=True),
        sa.Column("withdrawn_reason", sa.Text(), nullable=True),
        sa.Column("version", WHOLE, nullable=False),
        sa.CheckConstraint(
            "kind IN ('look', 'unframing', 'box check')", name=op.f("ck_visit_kind")
        ),
        sa.CheckConstraint(
            "(stop_why IS NULL) = (stop_left IS NULL)", name=op.f("ck_visit_stop_whole")
        ),
        sa.CheckConstraint("length(on_edtf) BETWEEN 1 AND 100", name=op.f("ck_visit_on_edtf")),
        sa.CheckConstraint("length(reason) <= 20000", name=op.f("ck_visit_reason")),
        sa.CheckConstraint("length(stop_left) BETWEEN 0 AND 500", name=op.f("ck_visit_stop_left")),
        sa.CheckConstraint("length(stop_why) BETWEEN 0 AND 500", name=op.f("ck_visit_stop_why")),
        sa.CheckConstraint("length(summary) <= 20000", name=op.f("ck_visit_summary")),
        sa.CheckConstraint(
            "length(withdrawn_reason) BETWEEN 0 AND 500", name=op.f("ck_visit_withdrawn_reason")
        ),
        sa.CheckConstraint("minutes BETWEEN 0 AND 100000", name=op.f("ck_visit_minutes")),
        sa.CheckConstraint("on_first BETWEEN -719162 AND 2932896", name=op.f("ck_visit_on_first")),
        sa.CheckConstraint("on_last BETWEEN -719162 AND 2932896", name=op.f("ck_visit_on_last")),
        sa.CheckConstraint(
            "recorded_on BETWEEN -719162 AND 2932896", name=op.f("ck_visit_recorded_on")
        ),
        sa.CheckConstraint("visit_no BETWEEN 1 AND 100000", name=op.f("ck_visit_visit_no")),
        sa.ForeignKeyConstraint(["by_id"], ["person.id"], name=op.f("fk_visit_by_id")),
        sa.ForeignKeyConstraint(
            ["recorded_by_id"], ["person.id"], name=op.f("fk_visit_recorded_by_id")
        ),
        sa.ForeignKeyConstraint(["walk_id"], ["walk.id"], name=op.f("fk_visit_walk_id")),
        sa.ForeignKeyConstraint(["work_id"], ["work.id"], name=op.f("fk_visit_work_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_visit")),
        sqlite_strict=True,
    )
    op.create_index(op.f("ix_visit_by_id"), "visit", ["by_id"], unique=False)
    op.create_index(op.f("ix_visit_on_first"), "visit", ["on_first"], unique=False)
    op.create_index(op.f("ix_visit_recorded_by_id"), "visit", ["recorded_by_id"], unique=False)
    op.create_index(
        "ix_visit_to_write_up",
        "visit",
        ["on_first"],
        unique=False,
        sqlite_where=sa.text("to_write_up = 1 AND withdrawn_reason IS NULL"),
        postgresql_where=sa.text("to_write_up AND withdrawn_reason IS NULL"),
    )
    op.create_index(op.f("ix_visit_walk_id"), "visit", ["walk_id"], unique=False)
    op.create_index("uq_visit_work_id_visit_no", "visit", ["work_id", "visit_no"], unique=True)
    op.create_table(
        "follow_up",
        sa.Column("id", WHOLE, nullable=False),
        sa.Column("incident_work_id", WHOLE, nullable=False),
        sa.Column("due_on", WHOLE, nullable=True),
        sa.Column("done_by_visit_id", WHOLE, nullable=True),
        sa.CheckConstraint("due_on BETWEEN -719162 AND 2932896", name=op.f("ck_follow_up_due_on")),
        sa.ForeignKeyConstraint(
            ["done_by_visit_id"], ["visit.id"], name=op.f("fk_follow_up_done_by_visit_id")
        ),
        sa.ForeignKeyConstraint(
            ["incident_work_id"], ["incident_work.id"], name=op.f("fk_follow_up_incident_work_id")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_follow_up")),
        sqlite_strict=True,
    )
    op.create_index(
        op.f("ix_follow_up_done_by_visit_id"), "follow_up", ["done_by_visit_id"], unique=False
    )
    op.create_index(
        op.f("ix_follow_up_incident_work_id"), "follow_up", ["incident_work_id"], unique=False
    )
    op.create_index(
        "ix_follow_up_open_due_on",
        "follow_up",
        ["due_on"],
        unique=False,
        sqlite_where=sa.text("done_by_visit_id IS NULL"),
        postgresql_where=sa.text("done_by_visit_id IS NULL"),
    )
    op.create_table(
        "inscription",
        sa.Column("id", WHOLE, nullable=False),
        sa.Column("visit_id", WHOLE, nullable=False),
        sa.Column("found_where", sa.Text(), nullable=False),
        sa.Column("inscribed", sa.Text(), nullable=False),
        sa.Column("kept", sa.Text(), nullable=True),
        sa.Column("withdrawn_reason", sa.Text(), nullable=True),
        sa.CheckConstraint(
            "kept IN ('discarded', 'with the work', 'kept')", name=op.f("ck_inscription_kept")
        ),
        sa.CheckConstraint(
            "length(found_where) BETWEEN 1 AND 200", name=op.f("ck_inscription_found_where")
        ),
        sa.CheckConstraint("length(inscribed) <= 20000", name=op.f("ck_inscription_inscribed")),
        sa.CheckConstraint(
            "length(withdrawn_reason) BETWEEN 0 AND 500",
            name=op.f("ck_inscription_withdrawn_reason"),
        ),
        sa.ForeignKeyConstraint(["visit_id"], ["visit.id"], name=op.f("fk_inscription_visit_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_inscription")),
        sqlite_strict=True,
    )
    op.create_index(op.f("ix_inscription_visit_id"), "inscription", ["visit_id"], unique=False)
    op.create_table(
        "layer",
        sa.Column("id", WHOLE, nullable=False),
        sa.Column("package_id", WHOLE, nullable=False),
        sa.Column("position", WHOLE, nullable=False),
        sa.Column("role", sa.Text(), nullable=False),
        sa.Column("side", sa.Text(), nullable=True),
        sa.Column("distance", sa.Text(), nullable=True),
        sa.Column("material_id", WHOLE, nullable=True),
        sa.Column("figures_id", WHOLE, nullable=True),
        sa.Column("lot_id", WHOLE, nullable=True),
        sa.Column("grade", sa.Text(), nullable=True),
        sa.Column("known_by", sa.Text(), nullable=True),
        sa.Column("covers_all", FLAG, nullable=False),
        sa.Column("fitted_edtf", sa.Text(), nullable=True),
        sa.Column("fitted_first", WHOLE, nullable=True),
        sa.Column("fitted_last", WHOLE, nullable=True),
        sa.Column("fitted_visit_id", WHOLE, nullable=True),
        sa.Column("ended", FLAG, nullable=False),
        sa.Column("removed_edtf", sa.Text(), nullable=True),
        sa.Column("removed_first", WHOLE, nullable=True),
        sa.Column("removed_last", WHOLE, nullable=True),
        sa.Column("removed_visit_id", WHOLE, nullable=True),
        sa.Column("condition", sa.Text(), nullable=False),
        sa.Column("kept", sa.Text(), nullable=True),
        sa.Column("belongs_to_work", FLAG, nullable=False),
        sa.Column("note", sa.Text(), nullable=False),
        sa.Column("withdrawn_reason", sa.Text(), nullable=True),
        sa.Column("version", WHOLE, nullable=False),
        sa.CheckConstraint(
            "distance IN ('touches', 'faces', 'apart')", name=op.f("ck_layer_distance")
        ),
        sa.CheckConstraint(
            "kept IN ('discarded', 'with the work', 'kept')", name=op.f("ck_layer_kept")
        ),
        sa.CheckConstraint(
            "known_by IN ('seen', 'label or invoice', 'tested', 'told', 'guessed')",
            name=op.f("ck_layer_known_by"),
        ),
        sa.CheckConstraint(
            "role IN ('glazing', 'spacer', 'overmat', 'window mat', 'interleaf', 'work', 'adhesive', 'lining', 'carrier sheet', 'mount board', 'barrier', 'backing board', 'sealing tape', 'mat-to-board tape', 'frame', 'folder', 'box lining')",
            name=op.f("ck_layer_role"),
        ),
        sa.CheckConstraint("side IN ('front', 'behind')", name=op.f("ck_layer_side")),
        sa.CheckConstraint("ended OR removed_edtf IS NULL", name=op.f("ck_layer_ended")),
        sa.CheckConstraint(
            "fitted_first BETWEEN -719162 AND 2932896", name=op.f("ck_layer_fitted_first")
        ),
        sa.CheckConstraint(
            "fitted_last BETWEEN -719162 AND 2932896", name=op.f("ck_layer_fitted_last")
        ),
        sa.CheckConstraint("length(condition) <= 20000", name=op.f("ck_layer_condition")),
        sa.CheckConstraint(
            "length(fitted_edtf) BETWEEN 0 AND 100", name=op.f("ck_layer_fitted_edtf")
        ),
        sa.CheckConstraint("length(grade) BETWEEN 0 AND 100", name=op.f("ck_layer_grade")),
        sa.CheckConstraint("length(note) <= 20000", name=op.f("ck_layer_note")),
        sa.CheckConstraint(
            "length(removed_edtf) BETWEEN 0 AND 100", name=op.f("ck_layer_removed_edtf")
        ),
        sa.CheckConstraint(
            "length(withdrawn_reason) BETWEEN 0 AND 500", name=op.f("ck_layer_withdrawn_reason")
        ),
        sa.CheckConstraint("position BETWEEN 0 AND 1000000", name=op.f("ck_layer_position")),
        sa.CheckConstraint(
            "removed_first BETWEEN -719162 AND 2932896", name=op.f("ck_layer_removed_first")
        ),
        sa.CheckConstraint(
            "removed_last BETWEEN -719162 AND 2932896", name=op.f("ck_layer_removed_last")
        ),
        sa.ForeignKeyConstraint(
            ["figures_id"], ["material_figures.id"], name=op.f("fk_layer_figures_id")
        ),
        sa.ForeignKeyConstraint(
            ["fitted_visit_id"], ["visit.id"], name=op.f("fk_layer_fitted_visit_id")
        ),
        sa.ForeignKeyConstraint(["lot_id"], ["lot.id"], name=op.f("fk_layer_lot_id")),
        sa.ForeignKeyConstraint(
            ["material_id"], ["material.id"], name=op.f("fk_layer_material_id")
        ),
        sa.ForeignKeyConstraint(["package_id"], ["package.id"], name=op.f("fk_layer_package_id")),
        sa.ForeignKeyConstraint(
            ["removed_visit_id"], ["visit.id"], name=op.f("fk_layer_removed_visit_id")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_layer")),
        sqlite_strict=True,
    )
    op.create_index(op.f("ix_layer_figures_id"), "layer", ["figures_id"], unique=False)
    op.create_index(op.f("ix_layer_fitted_visit_id"), "layer", ["fitted_visit_id"], unique=False)
    op.create_index(op.f("ix_layer_lot_id"), "layer", ["lot_id"], unique=False)
    op.create_index(op.f("ix_layer_material_id"), "layer", ["material_id"], unique=False)
    op.create_index(
        "ix_layer_package_id_position", "layer", ["package_id", "position"], unique=False
    )
    op.create_index(op.f("ix_layer_removed_visit_id"), "layer", ["removed_visit_id"], unique=False)
    op.create_index(
        "uq_layer_current_package_id_position",
        "layer",
        ["package_id", "position"],
        unique=True,
        sqlite_where=sa.text("ended = 0 AND withdrawn_reason IS NULL"),
        postgresql_where=sa.text("NOT ended AND withdrawn_reason IS NULL"),
    )
    op.create_table(
        "mount",
        sa.Column("id", WHOLE, nullable=False),
        sa.Column("work_id", WHOLE, nullable=False),
        sa.Column("package_id", WHOLE, nullable=False),
        sa.Column("mount_no", WHOLE, nullable=False),
        sa.Column("method_id", WHOLE, nullable=True),
        sa.Column("held", sa.Text(), nullable=False),
        sa.Column("reason", sa.Text(), nullable=False),
        sa.Column("mounted_edtf", sa.Text(), nullable=True),
        sa.Column("mounted_first", WHOLE, nullable=True),
        sa.Column("mounted_last", WHOLE, nullable=True),
        sa.Column("mounted_assumed", FLAG, nullable=False),
        sa.Column("mounted_by_id", WHOLE, nullable=True),
        sa.Column("mounted_visit_id", WHOLE, nullable=True),
        sa.Column("found_visit_id", WHOLE, nullable=True),
        sa.Column("ended", FLAG, nullable=False),
        sa.Column("dismounted_edtf", sa.Text(), nullable=True),
        sa.Column("dismounted_first", WHOLE, nullable=True),
        sa.Column("dismounted_last", WHOLE, nullable=True),
        sa.Column("dismounted_by_id", WHOLE, nullable=True),
        sa.Column("dismounted_visit_id", WHOLE, nullable=True),
        sa.Column("dismount_reason", sa.Text(), nullable=False),
        sa.Column("harm_at_dismount", sa.Text(), nullable=False),
        sa.Column("inferred", FLAG, nullable=False),
        sa.Column("by_unknown_hand", FLAG, nullable=False),
        sa.Column("note", sa.Text(), nullable=False),
        sa.Column("withdrawn_reason", sa.Text(), nullable=True),
        sa.Column("version", WHOLE, nullable=False),
        sa.CheckConstraint("held IN ('this', 'none', 'unknown')", name=op.f("ck_mount_held")),
        sa.CheckConstraint(
            "dismounted_first BETWEEN -719162 AND 2932896", name=op.f("ck_mount_dismounted_first")
        ),
        sa.CheckConstraint(
            "dismounted_last BETWEEN -719162 AND 2932896", name=op.f("ck_mount_dismounted_last")
        ),
        sa.CheckConstraint("ended OR dismounted_edtf IS NULL", name=op.f("ck_mount_ended")),
        sa.CheckConstraint(
            "length(dismount_reason) <= 20000", name=op.f("ck_mount_dismount_reason")
        ),
        sa.CheckConstraint(
            "length(dismounted_edtf) BETWEEN 0 AND 100", name=op.f("ck_mount_dismounted_edtf")
        ),
        sa.CheckConstraint(
            "length(harm_at_dismount) <= 20000", name=op.f("ck_mount_harm_at_dismount")
        ),
        sa.CheckConstraint(
            "length(mounted_edtf) BETWEEN 0 AND 100", name=op.f("ck_mount_mounted_edtf")
        ),
        sa.CheckConstraint("length(note) <= 20000", name=op.f("ck_mount_note")),
        sa.CheckConstraint("length(reason) <= 20000", name=op.f("ck_mount_reason")),
        sa.CheckConstraint(
            "length(withdrawn_reason) BETWEEN 0 AND 500", name=op.f("ck_mount_withdrawn_reason")
        ),
        sa.CheckConstraint("mount_no BETWEEN 1 AND 100000", name=op.f("ck_mount_mount_no")),
        sa.CheckConstraint(
            "mounted_first BETWEEN -719162 AND 2932896", name=op.f("ck_mount_mounted_first")
        ),
        sa.CheckConstraint(
            "mounted_last BETWEEN -719162 AND 2932896", name=op.f("ck_mount_mounted_last")
        ),
        sa.ForeignKeyConstraint(
            ["dismounted_by_id"], ["person.id"], name=op.f("fk_mount_dismounted_by_id")
        ),
        sa.ForeignKeyConstraint(
            ["dismounted_visit_id"], ["visit.id"], name=op.f("fk_mount_dismounted_visit_id")
        ),
        sa.ForeignKeyConstraint(
            ["found_visit_id"], ["visit.id"], name=op.f("fk_mount_found_visit_id")
        ),
        sa.ForeignKeyConstraint(
            ["method_id"], ["mount_method.id"], name=op.f("fk_mount_method_id")
        ),
        sa.ForeignKeyConstraint(
            ["mounted_by_id"], ["person.id"], name=op.f("fk_mount_mounted_by_id")
        ),
        sa.ForeignKeyConstraint(
            ["mounted_visit_id"], ["visit.id"], name=op.f("fk_mount_mounted_visit_id")
        ),
        sa.ForeignKeyConstraint(["package_id"], ["package.id"], name=op.f("fk_mount_package_id")),
        sa.ForeignKeyConstraint(["work_id"], ["work.id"], name=op.f("fk_mount_work_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_mount")),
        sqlite_strict=True,
    )
    op.create_index(op.f("ix_mount_dismounted_by_id"), "mount", ["dismounted_by_id"], unique=False)
    op.create_index(
        op.f("ix_mount_dismounted_visit_id"), "mount", ["dismounted_visit_id"], unique=False
    )
    op.create_index(op.f("ix_mount_found_visit_id"), "mount", ["found_visit_id"], unique=False)
    op.create_index(op.f("ix_mount_method_id"), "mount", ["method_id"], unique=False)
    op.create_index(op.f("ix_mount_mounted_by_id"), "mount", ["mounted_by_id"], unique=False)
    op.create_index(op.f("ix_mount_mounted_visit_id"), "mount", ["mounted_visit_id"], unique=False)
    op.create_index(op.f("ix_mount_package_id"), "mount", ["package_id"], unique=False)
    op.create_index(
        "uq_mount_current_work_id",
        "mount",
        ["work_id"],
        unique=True,
        sqlite_where=sa.text("ended = 0 AND withdrawn_reason IS NULL"),
        postgresql_where=sa.text("NOT ended AND withdrawn_reason IS NULL"),
    )
    op.create_index("uq_mount_work_id_mount_no", "mount", ["work_id", "mount_no"], unique=True)
    op.create_table(
        "treatment",
        sa.Column("id", WHOLE, nullable=False),
        sa.Column("visit_id", WHOLE, nullable=False),
        sa.Column("term_id", WHOLE, nullable=False),
        sa.Column("by_id", WHOLE, nullable=True),
        sa.Column("note", sa.Text(), nullable=False),
        sa.Column("withdrawn_reason", sa.Text(), nullable=True),
        sa.CheckConstraint("length(note) <= 20000", name=op.f("ck_treatment_note")),
        sa.CheckConstraint(
            "length(withdrawn_reason) BETWEEN 0 AND 500", name=op.f("ck_treatment_withdrawn_reason")
        ),
        sa.ForeignKeyConstraint(["by_id"], ["person.id"], name=op.f("fk_treatment_by_id")),
        sa.ForeignKeyConstraint(
            ["term_id"], ["treatment_term.id"], name=op.f("fk_treatment_term_id")
        ),
        sa.ForeignKeyConstraint(["visit_id"], ["visit.id"], name=op.f("fk_treatment_visit_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_treatment")),
        sqlite_strict=True,
    )
    op.create_index(op.f("ix_treatment_by_id"), "treatment", ["by_id"], unique=False)
    op.create_index(op.f("ix_treatment_term_id"), "treatment", ["term_id"], unique=False)
    op.create_index(op.f("ix_treatment_visit_id"), "treatment", ["visit_id"], unique=False)
    op.create_table(
        "finding",
        sa.Column("id", WHOLE, nullable=False),
        sa.Column("work_id", WHOLE, nullable=False),
        sa.Column("finding_no", WHOLE, nullable=False),
        sa.Column("term_id", WHOLE, nullable=False),
        sa.Column("side", sa.Text(), nullable=False),
        sa.Column("edge", sa.Text(), nullable=True),
        sa.Column("reach_um", WHOLE, nullable=True),
        sa.Column("follows_window_edge", FLAG, nullable=False),
        sa.Column("region_left_um", WHOLE, nullable=True),
        sa.Column("region_top_um", WHOLE, nullable=True),
        sa.Column("region_width_um", WHOLE, nullable=True),
        sa.Column("region_height_um", WHOLE, nullable=True),
        sa.Column("cause_mechanism", sa.Text(), nullable=True),
        sa.Column("cause_mount", sa.Text(), nullable=True),
        sa.Column("cause_mount_id", WHOLE, nullable=True),
        sa.Column("withdrawn_reason", sa.Text(), nullable=True),
        sa.Column("version", WHOLE, nullable=False),
        sa.CheckConstraint(
            "cause_mechanism IN ('acid migration', 'adhesive ageing', 'hold failure', 'photo-activity', 'alkali contact', 'sticking to the glazing', 'restraint', 'fogging of the glazing', 'mould', 'accident', 'foxing', 'insects and dust', 'the paper''s own ageing', 'tarnish or ozone', 'face mount')",
            name=op.f("ck_finding_cause_mechanism"),
        ),
        sa.CheckConstraint(
            "cause_mount IN ('this', 'earlier', 'cannot tell')", name=op.f("ck_finding_cause_mount")
        ),
        sa.CheckConstraint(
            "edge IN ('top', 'right', 'bottom', 'left', 'all')", name=op.f("ck_finding_edge")
        ),
        sa.CheckConstraint("side IN ('recto', 'verso')", name=op.f("ck_finding_side")),
        sa.CheckConstraint(
            "(edge IS NULL) = (reach_um IS NULL)", name=op.f("ck_finding_reach_whole")
        ),
        sa.CheckConstraint(
            "(region_left_um IS NULL) = (region_top_um IS NULL) AND (region_left_um IS NULL) = (region_width_um IS NULL) AND (region_left_um IS NULL) = (region_height_um IS NULL)",
            name=op.f("ck_finding_region_whole"),
        ),
        sa.CheckConstraint("finding_no BETWEEN 1 AND 100000", name=op.f("ck_finding_finding_no")),
        sa.CheckConstraint(
            "length(withdrawn_reason) BETWEEN 0 AND 500", name=op.f("ck_finding_withdrawn_reason")
        ),
        sa.CheckConstraint("reach_um BETWEEN 0 AND 20000000", name=op.f("ck_finding_reach_um")),
        sa.CheckConstraint(
            "region_height_um BETWEEN 1 AND 20000000", name=op.f("ck_finding_region_height_um")
        ),
        sa.CheckConstraint(
            "region_left_um BETWEEN 0 AND 20000000", name=op.f("ck_finding_region_left_um")
        ),
        sa.CheckConstraint(
            "region_top_um BETWEEN 0 AND 20000000", name=op.f("ck_finding_region_top_um")
        ),
        sa.CheckConstraint(
            "region_width_um BETWEEN 1 AND 20000000", name=op.f("ck_finding_region_width_um")
        ),
        sa.ForeignKeyConstraint(
            ["cause_mount_id"], ["mount.id"], name=op.f("fk_finding_cause_mount_id")
        ),
        sa.ForeignKeyConstraint(["term_id"], ["finding_term.id"], name=op.f("fk_finding_term_id")),
        sa.ForeignKeyConstraint(["work_id"], ["work.id"], name=op.f("fk_finding_work_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_finding")),
        sqlite_strict=True,
    )
    op.create_index(op.f("ix_finding_cause_mount_id"), "finding", ["cause_mount_id"], unique=False)
    op.create_index(op.f("ix_finding_term_id"), "finding", ["term_id"], unique=False)
    op.create_index(
        "uq_finding_work_id_finding_no", "finding", ["work_id", "finding_no"], unique=True
    )
    op.create_table(
        "hold",
        sa.Column("id", WHOLE, nullable=False),
        sa.Column("mount_id", WHOLE, nullable=False),
        sa.Column("hold_no", WHOLE, nullable=False),
        sa.Column("material_id", WHOLE, nullable=True),
        sa.Column("figures_id", WHOLE, nullable=True),
        sa.Column("lot_id", WHOLE, nullable=True),
        sa.Column("grade", sa.Text(), nullable=False),
        sa.Column("adhesive_grade", sa.Text(), nullable=True),
        sa.Column("known_by", sa.Text(), nullable=True),
        sa.Column("position", sa.Text(), nullable=False),
        sa.Column("hold_count", WHOLE, nullable=True),
        sa.Column("clearance_um", WHOLE, nullable=True),
        sa.Column("covers_all", FLAG, nullable=False),
        sa.Column("since_edtf", sa.Text(), nullable=True),
        sa.Column("since_first", WHOLE, nullable=True),
        sa.Column("since_last", WHOLE, nullable=True),
        sa.Column("freed_by", sa.Text(), nullable=True),
        sa.Column("outcome", sa.Text(), nullable=True),
        sa.Column("residue", sa.Text(), nullable=False),
        sa.Column("note", sa.Text(), nullable=False),
        sa.Column("withdrawn_reason", sa.Text(), nullable=True),
        sa.Column("version", WHOLE, nullable=False),
        sa.CheckConstraint(
            "freed_by IN ('lifted', 'already loose', 'water', 'solvent', 'heat', 'scalpel or spatula', 'cut')",
            name=op.f("ck_hold_freed_by"),
        ),
        sa.CheckConstraint(
            "known_by IN ('seen', 'label or invoice', 'tested', 'told', 'guessed')",
            name=op.f("ck_hold_known_by"),
        ),
        sa.CheckConstraint(
            "outcome IN ('freed', 'part freed', 'tried and left', 'cut and stub left', 'left on the work')",
            name=op.f("ck_hold_outcome"),
        ),
        sa.CheckConstraint(
            "clearance_um BETWEEN 0 AND 20000000", name=op.f("ck_hold_clearance_um")
        ),
        sa.CheckConstraint("hold_count BETWEEN 1 AND 1000", name=op.f("ck_hold_hold_count")),
        sa.CheckConstraint("hold_no BETWEEN 1 AND 10000", name=op.f("ck_hold_hold_no")),
        sa.CheckConstraint(
            "length(adhesive_grade) BETWEEN 0 AND 100", name=op.f("ck_hold_adhesive_grade")
        ),
        sa.CheckConstraint("length(grade) BETWEEN 1 AND 100", name=op.f("ck_hold_grade")),
        sa.CheckConstraint("length(note) <= 20000", name=op.f("ck_hold_note")),
        sa.CheckConstraint("length(position) <= 20000", name=op.f("ck_hold_position")),
        sa.CheckConstraint("length(residue) <= 20000", name=op.f("ck_hold_residue")),
        sa.CheckConstraint("length(since_edtf) BETWEEN 0 AND 100", name=op.f("ck_hold_since_edtf")),
        sa.CheckConstraint(
            "length(withdrawn_reason) BETWEEN 0 AND 500", name=op.f("ck_hold_withdrawn_reason")
        ),
        sa.CheckConstraint(
            "since_first BETWEEN -719162 AND 2932896", name=op.f("ck_hold_since_first")
        ),
        sa.CheckConstraint(
            "since_last BETWEEN -719162 AND 2932896", name=op.f("ck_hold_since_last")
        ),
        sa.ForeignKeyConstraint(
            ["figures_id"], ["material_figures.id"], name=op.f("fk_hold_figures_id")
        ),
        sa.ForeignKeyConstraint(["lot_id"], ["lot.id"], name=op.f("fk_hold_lot_id")),
        sa.ForeignKeyConstraint(["material_id"], ["material.id"], name=op.f("fk_hold_material_id")),
        sa.ForeignKeyConstraint(["mount_id"], ["mount.id"], name=op.f("fk_hold_mount_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_hold")),
        sqlite_strict=True,
    )
    op.create_index(op.f("ix_hold_figures_id"), "hold", ["figures_id"], unique=False)
    op.create_index(op.f("ix_hold_lot_id"), "hold", ["lot_id"], unique=False)
    op.create_index(op.f("ix_hold_material_id"), "hold", ["material_id"], unique=False)
    op.create_index("uq_hold_mount_id_hold_no", "hold", ["mount_id", "hold_no"], unique=True)
    op.create_table(
        "layer_test",
        sa.Column("id", WHOLE, nullable=False),
        sa.Column("visit_id", WHOLE, nullable=False),
        sa.Column("layer_id", WHOLE, nullable=False),
        sa.Column("test", sa.Text(), nullable=False),
        sa.Column("result", sa.Text(), nullable=False),
        sa.Column("surface_ph", NUMBER, nullable=True),
        sa.Column("withdrawn_reason", sa.Text(), nullable=True),
        sa.CheckConstraint(
            "test IN ('bevel colour', 'pH pen', 'lignin spot test', 'surface pH')",
            name=op.f("ck_layer_test_test"),
        ),
        sa.CheckConstraint("length(result) BETWEEN 1 AND 100", name=op.f("ck_layer_test_result")),
        sa.CheckConstraint(
            "length(withdrawn_reason) BETWEEN 0 AND 500",
            name=op.f("ck_layer_test_withdrawn_reason"),
        ),
        sa.CheckConstraint("surface_ph BETWEEN 0 AND 14", name=op.f("ck_layer_test_surface_ph")),
        sa.ForeignKeyConstraint(["layer_id"], ["layer.id"], name=op.f("fk_layer_test_layer_id")),
        sa.ForeignKeyConstraint(["visit_id"], ["visit.id"], name=op.f("fk_layer_test_visit_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_layer_test")),
        sqlite_strict=True,
    )
    op.create_index(op.f("ix_layer_test_layer_id"), "layer_test", ["layer_id"], unique=False)
    op.create_index(op.f("ix_layer_test_visit_id"), "layer_test", ["visit_id"], unique=False)
    op.create_table(
        "treatment_material",
        sa.Column("id", WHOLE, nullable=False),
        sa.Column("treatment_id", WHOLE, nullable=False),
        sa.Column("material_id", WHOLE, nullable=False),
        sa.ForeignKeyConstraint(
            ["material_id"], ["material.id"], name=op.f("fk_treatment_material_material_id")
        ),
        sa.ForeignKeyConstraint(
            ["treatment_id"], ["treatment.id"], name=op.f("fk_treatment_material_treatment_id")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_treatment_material")),
        sqlite_strict=True,
    )
    op.create_index(
        op.f("ix_treatment_material_material_id"),
        "treatment_material",
        ["material_id"],
        unique=False,
    )
    op.create_index(
        "uq_treatment_material_treatment_id_material_id",
        "treatment_material",
        ["treatment_id", "material_id"],
        unique=True,
    )
    op.create_table(
        "remain",
        sa.Column("id", WHOLE, nullable=False),
        sa.Column("work_id", WHOLE, nullable=False),
        sa.Column("hold_id", WHOLE, nullable=True),
        sa.Column("what", sa.Text(), nullable=False),
        sa.Column("grade", sa.Text(), nullable=True),
        sa.Column("frees_by", sa.Text(), nullable=True),
        sa.Column("covers_all", FLAG, nullable=False),
        sa.Column("since_edtf", sa.Text(), nullable=True),
        sa.Column("since_first", WHOLE, nullable=True),
        sa.Column("since_last", WHOLE, nullable=True),
        sa.Column("left_visit_id", WHOLE, nullable=True),
        sa.Column("ended", FLAG, nullable=False),
        sa.Column("removed_visit_id", WHOLE, nullable=True),
        sa.Column("withdrawn_reason", sa.Text(), nullable=True),
        sa.Column("version", WHOLE, nullable=False),
        sa.CheckConstraint(
            "frees_by IN ('no adhesive', 'water', 'solvent or heat', 'not without harm')",
            name=op.f("ck_remain_frees_by"),
        ),
        sa.CheckConstraint("length(grade) BETWEEN 0 AND 100", name=op.f("ck_remain_grade")),
        sa.CheckConstraint(
            "length(since_edtf) BETWEEN 0 AND 100", name=op.f("ck_remain_since_edtf")
        ),
        sa.CheckConstraint("length(what) BETWEEN 1 AND 20000", name=op.f("ck_remain_what")),
        sa.CheckConstraint(
            "length(withdrawn_reason) BETWEEN 0 AND 500", name=op.f("ck_remain_withdrawn_reason")
        ),
        sa.CheckConstraint(
            "since_first BETWEEN -719162 AND 2932896", name=op.f("ck_remain_since_first")
        ),
        sa.CheckConstraint(
            "since_last BETWEEN -719162 AND 2932896", name=op.f("ck_remain_since_last")
        ),
        sa.ForeignKeyConstraint(["hold_id"], ["hold.id"], name=op.f("fk_remain_hold_id")),
        sa.ForeignKeyConstraint(
            ["left_visit_id"], ["visit.id"], name=op.f("fk_remain_left_visit_id")
        ),
        sa.ForeignKeyConstraint(
            ["removed_visit_id"], ["visit.id"], name=op.f("fk_remain_removed_visit_id")
        ),
        sa.ForeignKeyConstraint(["work_id"], ["work.id"], name=op.f("fk_remain_work_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_remain")),
        sqlite_strict=True,
    )
    op.create_index(
        "ix_remain_current_work_id",
        "remain",
        ["work_id"],
        unique=False,
        sqlite_where=sa.text("ended = 0 AND withdrawn_reason IS NULL"),
        postgresql_where=sa.text("NOT ended AND withdrawn_reason IS NULL"),
    )
    op.create_index(op.f("ix_remain_hold_id"), "remain", ["hold_id"], unique=False)
    op.create_index(op.f("ix_remain_left_visit_id"), "remain", ["left_visit_id"], unique=False)
    op.create_index(
        op.f("ix_remain_removed_visit_id"), "remain", ["removed_visit_id"], unique=False
    )
    op.create_index(op.f("ix_remain_work_id"), "remain", ["work_id"], unique=False)
    op.create_table(
        "sighting",
        sa.Column("id", WHOLE, nullable=False),
        sa.Column("finding_id", WHOLE, nullable=False),
        sa.Column("visit_id", WHOLE, nullable=False),
        sa.Column("severity", sa.Text(), nullable=True),
        sa.Column("change", sa.Text(), nullable=False),
        sa.Column("extent_percent", NUMBER, nullable=True),
        sa.Column("reach_um", WHOLE, nullable=True),
        sa.Column("note", sa.Text(), nullable=False),
        sa.Column("withdrawn_reason", sa.Text(), nullable=True),
        sa.Column("version", WHOLE, nullable=False),
        sa.CheckConstraint(
            "change IN ('new', 'unchanged', 'grown', 'treated', 'no longer visible', 'found age unknown', 'not seen this time')",
            name=op.f("ck_sighting_change"),
        ),
        sa.CheckConstraint(
            "severity IN ('slight', 'moderate', 'severe')", name=op.f("ck_sighting_severity")
        ),
        sa.CheckConstraint(
            "extent_percent BETWEEN 0 AND 100", name=op.f("ck_sighting_extent_percent")
        ),
        sa.CheckConstraint("length(note) <= 20000", name=op.f("ck_sighting_note")),
        sa.CheckConstraint(
            "length(withdrawn_reason) BETWEEN 0 AND 500", name=op.f("ck_sighting_withdrawn_reason")
        ),
        sa.CheckConstraint("reach_um BETWEEN 0 AND 20000000", name=op.f("ck_sighting_reach_um")),
        sa.ForeignKeyConstraint(
            ["finding_id"], ["finding.id"], name=op.f("fk_sighting_finding_id")
        ),
        sa.ForeignKeyConstraint(["visit_id"], ["visit.id"], name=op.f("fk_sighting_visit_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_sighting")),
        sqlite_strict=True,
    )
    op.create_index(op.f("ix_sighting_visit_id"), "sighting", ["visit_id"], unique=False)
    op.create_index(
        "uq_sighting_finding_id_visit_id", "sighting", ["finding_id", "visit_id"], unique=True
    )
    op.create_table(
        "colour_reading",
        sa.Column("id", WHOLE, nullable=False),
        sa.Column("sighting_id", WHOLE, nullable=False),
        sa.Column("spot", sa.Text(), nullable=False),
        sa.Column("lab_l", NUMBER, nullable=False),
        sa.Column("lab_a", NUMBER, nullable=False),
        sa.Column("lab_b", NUMBER, nullable=False),
        sa.CheckConstraint("lab_a BETWEEN -200 AND 200", name=op.f("ck_colour_reading_lab_a")),
        sa.CheckConstraint("lab_b BETWEEN -200 AND 200", name=op.f("ck_colour_reading_lab_b")),
        sa.CheckConstraint("lab_l BETWEEN 0 AND 100", name=op.f("ck_colour_reading_lab_l")),
        sa.CheckConstraint("length(spot) BETWEEN 1 AND 100", name=op.f("ck_colour_reading_spot")),
        sa.ForeignKeyConstraint(
            ["sighting_id"], ["sighting.id"], name=op.f("fk_colour_reading_sighting_id")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_colour_reading")),
        sqlite_strict=True,
    )
    op.create_index(
        op.f("ix_colour_reading_sighting_id"), "colour_reading", ["sighting_id"], unique=False
    )


def downgrade() -> None:
    """Drop them, children first."""
    op.drop_index(op.f("ix_colour_reading_sighting_id"), table_name="colour_reading")
    op.drop_table("colour_reading")
    op.drop_index("uq_sighting_finding_id_visit_id", table_name="sighting")
    op.drop_index(op.f("ix_sighting_visit_id"), table_name="sighting")
    op.drop_table("sighting")
    op.drop_index(op.f("ix_remain_work_id"), table_name="remain")
    op.drop_index(op.f("ix_remain_removed_visit_id"), table_name="remain")
    op.drop_index(op.f("ix_remain_left_visit_id"), table_name="remain")
    op.drop_index(op.f("ix_remain_hold_id"), table_name="remain")
    op.drop_index(
        "ix_remain_current_work_id",
        table_name="remain",
        sqlite_where=sa.text("ended = 0 AND withdrawn_reason IS NULL"),
        postgresql_where=sa.text("NOT ended AND withdrawn_reason IS NULL"),
    )
    op.drop_table("remain")
    op.drop_index("uq_treatment_material_treatment_id_material_id", table_name="treatment_material")
    op.drop_index(op.f("ix_treatment_material_material_id"), table_name="treatment_material")
    op.drop_table("treatment_material")
    op.drop_index(op.f("ix_layer_test_visit_id"), table_name="layer_test")
    op.drop_index(op.f("ix_layer_test_layer_id"), table_name="layer_test")
    op.drop_table("layer_test")
    op.drop_index("uq_hold_mount_id_hold_no", table_name="hold")
    op.drop_index(op.f("ix_hold_material_id"), table_name="hold")
    op.drop_index(op.f("ix_hold_lot_id"), table_name="hold")
    op.drop_index(op.f("ix_hold_figures_id"), table_name="hold")
    op.drop_table("hold")
    op.drop_index("uq_finding_work_id_finding_no", table_name="finding")
    op.drop_index(op.f("ix_finding_term_id"), table_name="finding")
    op.drop_index(op.f("ix_finding_cause_mount_id"), table_name="finding")
    op.drop_table("finding")
    op.drop_index(op.f("ix_treatment_visit_id"), table_name="treatment")
    op.drop_index(op.f("ix_treatment_term_id"), table_name="treatment")
    op.drop_index(op.f("ix_treatment_by_id"), table_name="treatment")
    op.drop_table("treatment")
    op.drop_index("uq_mount_work_id_mount_no", table_name="mount")
    op.drop_index(
        "uq_mount_current_work_id",
        table_name="mount",
        sqlite_where=sa.text("ended = 0 AND withdrawn_reason IS NULL"),
        postgresql_where=sa.text("NOT ended AND withdrawn_reason IS NULL"),
    )
    op.drop_index(op.f("ix_mount_package_id"), table_name="mount")
    op.drop_index(op.f("ix_mount_mounted_visit_id"), table_name="mount")
    op.drop_index(op.f("ix_mount_mounted_by_id"), table_name="mount")
    op.drop_index(op.f("ix_mount_method_id"), table_name="mount")
    op.drop_index(op.f("ix_mount_found_visit_id"), table_name="mount")
    op.drop_index(op.f("ix_mount_dismounted_visit_id"), table_name="mount")
    op.drop_index(op.f("ix_mount_dismounted_by_id"), table_name="mount")
    op.drop_table("mount")
    op.drop_index(
        "uq_layer_current_package_id_position",
        table_name="layer",
        sqlite_where=sa.text("ended = 0 AND withdrawn_reason IS NULL"),
        postgresql_where=sa.text("NOT ended AND withdrawn_reason IS NULL"),
    )
    op.drop_index(op.f("ix_layer_removed_visit_id"), table_name="layer")
    op.drop_index("ix_layer_package_id_position", table_name="layer")
    op.drop_index(op.f("ix_layer_material_id"), table_name="layer")
    op.drop_index(op.f("ix_layer_lot_id"), table_name="layer")
    op.drop_index(op.f("ix_layer_fitted_visit_id"), table_name="layer")
    op.drop_index(op.f("ix_layer_figures_id"), table_name="layer")
    op.drop_table("layer")
    op.drop_index(op.f("ix_inscription_visit_id"), table_name="inscription")
    op.drop_table("inscription")
    op.drop_index(
        "ix_follow_up_open_due_on",
        table_name="follow_up",
        sqlite_where=sa.text("done_by_visit_id IS NULL"),
        postgresql_where=sa.text("done_by_visit_id IS NULL"),
    )
    op.drop_index(op.f("ix_follow_up_incident_work_id"), table_name="follow_up")
    op.drop_index(op.f("ix_follow_up_done_by_visit_id"), table_name="follow_up")
    op.drop_table("follow_up")
    op.drop_index("uq_visit_work_id_visit_no", table_name="visit")
    op.drop_index(op.f("ix_visit_walk_id"), table_name="visit")
    op.drop_index(
        "ix_visit_to_write_up",
        table_name="visit",
        sqlite_where=sa.text("to_write_up = 1 AND withdrawn_reason IS NULL"),
        postgresql_where=sa.text("to_write_up AND withdrawn_reason IS NULL"),
    )
    op.drop_index(op.f("ix_visit_recorded_by_id"), table_name="visit")
    op.drop_index(op.f("ix_visit_on_first"), table_name="visit")
    op.drop_index(op.f("ix_visit_by_id"), table_name="visit")
    op.drop_table("visit")
    op.drop_index("uq_token_use_token_id", table_name="token_use")
    op.drop_table("token_use")
    op.drop_index("ix_work_word_work_id_word", table_name="work_word")
    op.drop_index("ix_work_word_word_work_id", table_name="work_word")
    op.drop_table("work_word")
    op.drop_index(op.f("ix_walk_place_id"), table_name="walk")
    op.drop_index(op.f("ix_walk_by_id"), table_name="walk")
    op.drop_table("walk")
    op.drop_index(
        "uq_stay_current_work_id",
        table_name="stay",
        sqlite_where=sa.text("ended = 0 AND withdrawn_reason IS NULL"),
        postgresql_where=sa.text("NOT ended AND withdrawn_reason IS NULL"),
    )
    op.drop_index("ix_stay_work_id", table_name="stay")
    op.drop_index("ix_stay_place_id", table_name="stay")
    op.drop_index(op.f("ix_stay_by_id"), table_name="stay")
    op.drop_table("stay")
    op.drop_index(op.f("ix_sign_in_person_id"), table_name="sign_in")
    op.drop_index(op.f("ix_sign_in_ends_at"), table_name="sign_in")
    op.drop_table("sign_in")
    op.drop_index("uq_repeat_key_person_id_request_key", table_name="repeat_key")
    op.drop_index(op.f("ix_repeat_key_at"), table_name="repeat_key")
    op.drop_table("repeat_key")
    op.drop_index(op.f("ix_recall_material_id"), table_name="recall")
    op.drop_index(op.f("ix_recall_lot_id"), table_name="recall")
    op.drop_table("recall")
    op.drop_index("uq_incident_work_incident_id_work_id", table_name="incident_work")
    op.drop_index(op.f("ix_incident_work_work_id"), table_name="incident_work")
    op.drop_table("incident_work")
    op.drop_index(
        "ix_forecast_first_survey",
        table_name="forecast",
        sqlite_where=sa.text("first_survey = 1"),
        postgresql_where=sa.text("first_survey"),
    )
    op.drop_index(
        "ix_forecast_urgent",
        table_name="forecast",
        sqlite_where=sa.text("urgent_since IS NOT NULL"),
        postgresql_where=sa.text("urgent_since IS NOT NULL"),
    )
    op.drop_index("ix_forecast_remat_by_work_id", table_name="forecast")
    op.drop_index("ix_forecast_box_check_on_work_id", table_name="forecast")
    op.drop_index("ix_forecast_unframing_on_work_id", table_name="forecast")
    op.drop_index("ix_forecast_look_on_work_id", table_name="forecast")
    op.drop_index("ix_forecast_due_on_work_id", table_name="forecast")
    op.drop_table("forecast")
    op.drop_index(op.f("ix_api_token_person_id"), table_name="api_token")
    op.drop_table("api_token")
    op.drop_index("uq_work_number", table_name="work")
    op.drop_index("uq_work_code", table_name="work")
    op.drop_index(op.f("ix_work_technique_id"), table_name="work")
    op.drop_index(op.f("ix_work_owner_id"), table_name="work")
    op.drop_table("work")
    op.drop_index("uq_person_name", table_name="person")
    op.drop_index(op.f("ix_person_owner_id"), table_name="person")
    op.drop_table("person")
    op.drop_index("uq_material_figures_material_id_edition", table_name="material_figures")
    op.drop_table("material_figures")
    op.drop_index("uq_lot_material_id_number", table_name="lot")
    op.drop_index(
        "uq_lot_in_use_material_id",
        table_name="lot",
        sqlite_where=sa.text("in_use = 1"),
        postgresql_where=sa.text("in_use"),
    )
    op.drop_table("lot")
    op.drop_index(op.f("ix_incident_place_id"), table_name="incident")
    op.drop_table("incident")
    op.drop_index("uq_treatment_term_term", table_name="treatment_term")
    op.drop_table("treatment_term")
    op.drop_index("uq_technique_name", table_name="technique")
    op.drop_table("technique")
    op.drop_index("ix_sign_in_try_who_at", table_name="sign_in_try")
    op.drop_index(op.f("ix_sign_in_try_at"), table_name="sign_in_try")
    op.drop_table("sign_in_try")
    op.drop_index("uq_place_parent_id_name", table_name="place")
    op.drop_index(
        "uq_place_name_at_top",
        table_name="place",
        sqlite_where=sa.text("parent_id IS NULL"),
        postgresql_where=sa.text("parent_id IS NULL"),
    )
    op.drop_table("place")
    op.drop_table("package")
    op.drop_index("uq_owner_name", table_name="owner")
    op.drop_table("owner")
    op.drop_index("uq_mount_method_name", table_name="mount_method")
    op.drop_table("mount_method")
    op.drop_index("uq_material_name", table_name="material")
    op.drop_table("material")
    op.drop_table("log_head")
    op.drop_table("log_entry")
    op.drop_index("uq_house_package_name_edition", table_name="house_package")
    op.drop_index(
        "uq_house_package_current_name",
        table_name="house_package",
        sqlite_where=sa.text("ended = 0"),
        postgresql_where=sa.text("NOT ended"),
    )
    op.drop_table("house_package")
    op.drop_table("first_keeper_link")
    op.drop_index("uq_finding_term_term", table_name="finding_term")
    op.drop_table("finding_term")
