"""Workbooks of invented centres, each column with the entry of the crosswalk that is right for it.

They head their columns in other words than the sample study, lay them out in other ways and mix
languages, so that a drafter that only knows the sample fails here.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import cycle, islice

from upload_sheets import sheet

from transforms.layout.headings import heading_form
from transforms.reading import Sheet, Workbook

ROWS = 16


@dataclass(frozen=True)
class Column:
    """A column: heading (top to bottom), cells to repeat, and what is right for it: field, visit,
    unit, notation, eye, as far as there are any, or nothing."""

    heading: str | tuple[str, ...]
    cells: Sequence[object]
    field: str | None = None
    visit: str = ""
    unit: str = ""
    notation: str = ""
    eye: str = ""

    @property
    def joined(self) -> str:
        parts = (self.heading,) if isinstance(self.heading, str) else self.heading
        return " ".join(part for part in parts if part)

    def cell(self, row: int) -> object:
        return self.cells[row % len(self.cells)]


@dataclass(frozen=True)
class Table:
    """One sheet: what a row is, its columns, and what stands around them."""

    row: str
    columns: tuple[Column, ...]
    name: str = "Sheet1"
    above: tuple[tuple[object, ...], ...] = ()
    units_row: tuple[object, ...] = ()
    right_by: int = 0
    below: tuple[tuple[object, ...], ...] = ()
    missing: str | None = None

    def sheet(self) -> Sheet:
        depth = max(1 if isinstance(c.heading, str) else len(c.heading) for c in self.columns)
        heads: list[list[object]] = [[] for _ in range(depth)]
        merged = []
        for place, column in enumerate(self.columns):
            texts = (column.heading,) if isinstance(column.heading, str) else column.heading
            for level, text in enumerate(texts):
                before = self.columns[place - 1].heading if place else ""
                repeats = (
                    level < depth - 1 and not isinstance(before, str) and before[level] == text
                )
                heads[level].append(None if repeats or not text else text)
        first = len(self.above) + 1
        for level in range(depth - 1):
            merged += _spans(heads[level], first + level, self.right_by)
        body = [[c.cell(row) for c in self.columns] for row in range(ROWS)]
        if self.missing is not None:
            body[2][-1] = body[5][-2] = self.missing
        pad = [None] * self.right_by
        rows = [*self.above, *([*pad, *line] for line in heads)]
        rows += [[*pad, *self.units_row]] if self.units_row else []
        rows += [[*pad, *line] for line in body]
        return sheet(*rows, *self.below, name=self.name, merged=merged)

    def entries(self) -> set[tuple[str, ...]]:
        return {
            (self.row, c.eye, c.visit, c.field, heading_form(c.joined), c.unit, c.notation)
            for c in self.columns if c.field
        }  # fmt: skip


def _spans(texts: list[object], row: int, right_by: int) -> list[tuple[int, int, int, int]]:
    """Merged cells of a group heading: from each text to the next."""
    starts = [place for place, text in enumerate(texts) if text is not None]
    ends = [*(start - 1 for start in starts[1:]), len(texts) - 1]
    return [
        (row, start + 1 + right_by, row, end + 1 + right_by)
        for start, end in zip(starts, ends, strict=True) if end > start
    ]  # fmt: skip


@dataclass(frozen=True)
class Centre:
    """The files of a centre, by name, and how it writes."""

    files: dict[str, tuple[Table, ...]]
    language: str
    dates: str
    decimal: str
    least_share: float = 0.85
    kind: str = "xlsx"

    def workbooks(self) -> dict[str, Workbook]:
        return {
            name: Workbook(tuple(table.sheet() for table in tables), self.kind)  # type: ignore[arg-type]
            for name, tables in self.files.items()
        }

    def entries(self) -> set[tuple[str, ...]]:
        tables = [table for tables in self.files.values() for table in tables if table.row]
        return {entry for table in tables for entry in table.entries()}


def numbered(pattern: str) -> list[str]:
    """Record numbers, all different."""
    return [pattern.format(1043 + 377 * row) for row in range(ROWS)]


def days(start: dt.date, step: int, pattern: str = "") -> list[object]:
    """Dates, typed or in a pattern of strftime."""
    dates = [start + dt.timedelta(days=step * row) for row in range(ROWS)]
    return [date.strftime(pattern) for date in dates] if pattern else list(dates)


def some(*values: object) -> list[object]:
    return list(islice(cycle(values), ROWS))


OPERATED, SEEN, BORN = dt.date(2023, 1, 17), dt.date(2023, 5, 21), dt.date(1944, 2, 23)

# A fellow's log: nothing in column A or B, everything in one row, twelve-hour dates as text.
WREN = Centre(
    {
        "MH salvage log 2024.xlsx": (
            Table(
                "operation",
                (
                    Column("Pt ID", numbered("W{}"), "patient_id"),
                    Column("Last name", some("Brindlow", "Castermere", "Dunwathe")),
                    Column("Laterality", some("OD", "OS", "OS"), "eye"),
                    Column("DOS", days(OPERATED, 13, "%m/%d/%Y"), "operation_date"),
                    Column("Age at surgery", some(71, 64, 58, 80, 77), "age"),
                    Column("Gender", some("F", "M"), "sex"),
                    Column("Etiology", some("idiopathic", "traumatic", "idiopathic"), "hole_cause"),
                    Column("# of prior PPVs", some(1, 2, 1, 1), "prior_repairs"),
                    Column("Symptom duration (wks)", some(20, 52, 31, 8), "hole_duration",
                           unit="week"),
                    Column("AxL (mm)", some(23.4, 26.1, 29.9), "axial_length"),
                    Column("Min linear diameter (µm)", some(612, 744, 530, 981),
                           "hole_min_diameter", unit="um"),
                    Column("Basal diameter (µm)", some(1120, 1310, 990, 1722),
                           "hole_base_diameter", unit="um"),
                    Column("Surgical technique", some("ART", "amniotic membrane", "ILM free flap"),
                           "technique"),
                    Column("Trephine size (mm)", some(1.0, 1.5, 2.0), "graft_diameter", unit="mm"),
                    Column("PFCL used?", some("yes", "no"), None),
                    Column("Tamponade agent", some("C3F8 14%", "silicone oil", "SF6 20%"),
                           "tamponade"),
                    Column("VA preop", some("20/400", "20/200", "CF"), "acuity", "baseline",
                           notation="snellen_feet"),
                    Column("VA 1 mo", some("20/200", "20/160", "CF"), "acuity", "m1",
                           notation="snellen_feet"),
                    Column("VA 3 mo", some("20/100", "20/80", "20/200"), "acuity", "m3",
                           notation="snellen_feet"),
                    Column("VA 1 yr", some("20/70", "20/60", "20/200"), "acuity", "m12",
                           notation="snellen_feet"),
                    Column("Hole closed 1 mo", some("closed", "open"), "closure", "m1"),
                    Column("Hole closed 3 mo", some("closed", "closed", "open"), "closure", "m3"),
                    Column("UCVA 3 mo", some("20/400", "20/300")),
                    Column("VA fellow eye", some("20/20", "20/25")),
                    Column("Comments", some("call back", None, None, None)),
                ),
                name="Cases", above=((), (None, None, "Macular hole salvage, retina fellows"), ()),
                right_by=2, missing="n/a",
                below=((), (None, None, "Total", None, None, "16")),
            ),
        ),
    },
    "en", "month-first", "point",
)  # fmt: skip

# Group headings over two rows, a record number that spreadsheets take for a number, decimal comma.
# Its acuities may be logMAR as well, so that three of its lines are left to people.
VISITS_ES = tuple(
    column
    for group, at, acuities in (
        ("Preoperatorio", "baseline", some("0,05", "0,1", "CD", "0,08")),
        ("3 meses", "m3", some("0,2", "0,16", "0,05", "0,32")),
        ("12 meses", "m12", some("0,4", "0,25", "0,08", "0,5")),
    )
    for column in (
        Column((group, "MAVC"), acuities, "acuity", at, notation="decimal"),
        Column((group, "PIO (mmHg)"), some(14, 17, 12), "iop", at),
        Column((group, "Estado del agujero"), some("cerrado", "abierto"), "closure", at),
    )
)
ZORZAL = Centre(
    {
        "Registro.xlsx": (
            Table(
                "operation",
                (
                    Column(("Paciente", "NHC"), [20043.0 + 91 * n for n in range(ROWS)],
                           "patient_id"),
                    Column(("Paciente", "Fecha de nacimiento"), days(BORN, 211, "%d/%m/%Y"),
                           "birth_date"),
                    Column(("Paciente", "Sexo"), some("mujer", "hombre"), "sex"),
                    Column(("Intervención", "Ojo operado"), some("OD", "OI"), "eye"),
                    Column(("Intervención", "Fecha IQ"), days(OPERATED, 17, "%d/%m/%Y"),
                           "operation_date"),
                    Column(("Intervención", "Cirujano principal"), some("Dra. Ulmeral", "Dr. Vess"),
                           "surgeon"),
                    Column(("Intervención", "Técnica quirúrgica"),
                           some("membrana amniótica", "injerto de retina autóloga"), "technique"),
                    Column(("Intervención", "Tipo de taponamiento"), some("SF6", "silicona"),
                           "tamponade"),
                    Column(("Agujero", "Diámetro lineal mínimo (micras)"), some(612, 744, 530),
                           "hole_min_diameter", unit="um"),
                    Column(("Agujero", "Diámetro basal (micras)"), some(1120, 1310, 990),
                           "hole_base_diameter", unit="um"),
                    *VISITS_ES,
                    Column(("Otros", "Observaciones"), some(None, "revisar")),
                ),
                name="Agujeros", above=(("Servicio de Oftalmología",), ()),
            ),
            Table("", (Column("Color", some("rojo")), Column("Significado", some("llamar"))),
                  name="Leyenda"),
        ),
    },
    "es", "day-first", "comma", least_share=0.84,
)  # fmt: skip

# Operations and visits in two files; letters; typed dates; the visits' file names its patient.
GRIVE = Centre(
    {
        "interventions 2024.xlsx": (
            Table(
                "operation",
                (
                    Column("IPP", numbered("80{}"), "patient_id"),
                    Column("Nom", some("Ravelange", "Morcyr")),
                    Column("Côté", some("droit", "gauche"), "eye"),
                    Column("Date d'intervention", days(OPERATED, 19), "operation_date"),
                    Column("Opérateur", some("Dr Solvayre", "Dr Tassin-Vole"), "surgeon"),
                    Column("Âge (ans)", some(66, 71, 80), "age"),
                    Column("Sexe (H/F)", some("H", "F"), "sex"),
                    Column("Durée d'évolution (mois)", some(7, 14, 22), "hole_duration"),
                    Column("Nombre de vitrectomies antérieures", some(1, 2), "prior_repairs"),
                    Column("Diamètre minimal (µm)", some(540, 677, 812), "hole_min_diameter",
                           unit="um"),
                    Column("Diamètre de la base (µm)", some(1040, 1177, 1512),
                           "hole_base_diameter", unit="um"),
                    Column("Technique chirurgicale", some("membrane amniotique",
                           "lambeau libre de MLI"), "technique"),
                    Column("Taille du greffon (mm)", some("1,5", "2,0", "1,0"), "graft_diameter",
                           unit="mm"),
                    Column("Tamponnement utilisé", some("C2F6", "huile de silicone"), "tamponade"),
                    Column("Remarques", some(None, "à revoir")),
                ),
                name="Feuil1",
            ),
        ),
        "consultations - Ravelange Odile.xlsx": (
            Table(
                "visit",
                (
                    Column("IPP", numbered("80{}"), "patient_id"),
                    Column("Œil opéré", some("droit", "gauche"), "eye"),
                    Column("Date de consultation", days(SEEN, 11, "%d/%m/%Y"), "visit_date"),
                    Column("Meilleure acuité visuelle corrigée (lettres ETDRS)",
                           some(35, 48, 20, 61, 70), "acuity", notation="letters"),
                    Column("Tonus oculaire", some(14, 16), "iop"),
                    Column("Fermeture du trou", some("fermé", "ouvert"), "closure"),
                    Column("Gaz résiduel", some("oui", "non"), "under_tamponade"),
                    Column("Statut cristallinien", some("phaque", "pseudophaque"), "lens_status"),
                    Column("Zone ellipsoïde", some("continue", "interrompue"), "ellipsoid_zone"),
                ),
                name="Feuil1",
            ),
        ),
    },
    "fr", "day-first", "comma",
)  # fmt: skip

# Both eyes in a row with visits, a row of units, and German shorthand.
KIEBITZ = Centre(
    {
        "Liste.xlsx": (
            Table(
                "patient",
                (
                    Column("Pat.-Nr.", numbered("K{}"), "patient_id"),
                    Column("Nachname", some("Ahrenwald", "Bostelbek")),
                    Column("geb. am", days(BORN, 301, "%d.%m.%Y"), "birth_date"),
                    Column("Geschlecht (m/w)", some("m", "w"), "sex"),
                    *(
                        column
                        for side, eye in (("RA", "right"), ("LA", "left"))
                        for column in (
                            Column(f"{side} OP-Datum", days(OPERATED, 15, "%d.%m.%Y"),
                                   "operation_date", eye=eye),
                            Column(f"{side} OP-Verfahren", some("Amnionmembran", "freier ILM-Flap"),
                                   "technique", eye=eye),
                            Column(f"{side} Foramengröße", some(455, 612, 730),
                                   "hole_min_diameter", unit="um", eye=eye),
                            Column(f"{side} Tamponade", some("SF6", "Luft"), "tamponade", eye=eye),
                            Column(f"{side} Visus präop", some("1,3", "1,0", "1,6", "0,9"),
                                   "acuity", "baseline", notation="logmar", eye=eye),
                            Column(f"{side} Visus 3 Mo", some("0,7", "0,84", "1,36", "0,5"),
                                   "acuity", "m3", notation="logmar", eye=eye),
                            Column(f"{side} Verschluss 3 Mo", some("geschlossen", "offen"),
                                   "closure", "m3", eye=eye),
                        )
                    ),
                    Column("Bemerkungen", some(None, "Anruf")),
                ),
                units_row=(None, None, "TT.MM.JJJJ", None,
                           *2 * ("TT.MM.JJJJ", None, "µm", None, "logMAR", "logMAR", None), None),
            ),
        ),
    },
    "de", "day-first", "comma",
)  # fmt: skip

# Three sheets, ISO dates, and a size without unit that fits millimetres and disc diameters.
COTOVIA = Centre(
    {
        "cotovia.xlsx": (
            Table(
                "operation",
                (
                    Column("N.º de processo", numbered("C/{}"), "patient_id"),
                    Column("Olho operado", some("OD", "OE"), "eye"),
                    Column("Data cirurgia", days(OPERATED, 21, "%Y-%m-%d"), "operation_date"),
                    Column("Data de nascimento", days(BORN, 400, "%Y-%m-%d"), "birth_date"),
                    Column("Género", some("feminino", "masculino"), "sex"),
                    Column("Comprimento axial", some(23.5, 27.25, 31.0), "axial_length"),
                    Column("Diâmetro mínimo do buraco", some(0.52, 0.61, 0.7), None),
                    Column("Procedimento cirúrgico", some("membrana amniótica", "retina autóloga"),
                           "technique"),
                    Column("Agente tamponante", some("SF6 20%", "óleo de silicone"), "tamponade"),
                    Column("Etiologia", some("idiopático", "miópico"), "hole_cause"),
                ),
                name="Cirurgias",
            ),
            Table(
                "visit",
                (
                    Column("N.º de processo", numbered("C/{}"), "patient_id"),
                    Column("Olho", some("OD", "OE"), "eye"),
                    Column("Data da consulta", days(SEEN, 9, "%Y-%m-%d"), "visit_date"),
                    Column("Melhor AV corrigida", some("5/10", "2/10", "1/20", "3/10"), "acuity",
                           notation="decimal"),
                    Column("Pressão intraocular", some(12, 15, 18), "iop"),
                    Column("Encerramento do buraco", some("fechado", "aberto"), "closure"),
                ),
                name="Consultas",
            ),
            Table(
                "complication",
                (
                    Column("N.º de processo", numbered("C/{}"), "patient_id"),
                    Column("Olho", some("OD", "OE"), "eye"),
                    Column("Evento adverso", some("catarata", "descolamento de retina"),
                           "complication"),
                    Column("Data do evento", days(SEEN, 30, "%Y-%m-%d"), "complication_date"),
                    Column("Necessitou de cirurgia", some("sim", "não"), "needed_surgery"),
                ),
                name="Complicações",
            ),
        ),
    },
    "pt", "year-first", "comma",
)  # fmt: skip

# Two languages in one sheet, ordinal visits with dates, one visit at a time that no window holds.
SISKIN = Centre(
    {
        "MH.xlsx": (
            Table(
                "operation",
                (
                    Column("Patienten-ID", numbered("S{}"), "patient_id"),
                    Column("Side", some("RA", "LA"), "eye"),
                    Column("OP-Datum", days(OPERATED, 25, "%d.%m.%Y"), "operation_date"),
                    Column("Operateur", some("Prof. Immerfeld", "Dr. Quast"), "surgeon"),
                    Column("Alter bei OP", some(61, 73, 84), "age"),
                    Column("Surgical procedure", some("Amnionmembran", "freier ILM-Flap"),
                           "technique"),
                    Column("MLD [µm]", some(611, 702, 480), "hole_min_diameter", unit="um"),
                    Column("Basis [µm]", some(1011, 1302, 980), "hole_base_diameter", unit="um"),
                    Column("Endotamponade", some("C2F6", "Silikonöl"), "tamponade"),
                    Column("BCVA logMAR BL", some(1.3, 0.98, 1.62, 1.0), "acuity", "baseline",
                           notation="logmar"),
                    Column("BCVA logMAR M3", some(0.7, 0.88, 1.4, 0.5), "acuity", "m3",
                           notation="logmar"),
                    Column("BCVA logMAR M24", some(0.7, 0.88, 1.4, 0.5)),
                    Column("OCT M3", some("geschlossen", "offen"), "closure", "m3"),
                    Column("MLD M3 [µm]", some(0, 120)),
                    Column("Target IOP", some(14, 16)),
                    Column("Datum Erst-OP", days(dt.date(2021, 3, 29), 25, "%d.%m.%Y")),
                    Column("Sonstiges", some(None, "ok")),
                ),
            ),
        ),
    },
    "de", "day-first", "comma",
)  # fmt: skip

# A clinic's flat list: the operation again on the row of each of its visits, and traps: measures
# of the other eye, of another date, or of another kind than the codebook's.
FLAT_IDS = [f"FT-{310 + 7 * (row // 4)}" for row in range(ROWS)]
PIPIT = Centre(
    {
        "clinic.csv": (
            Table(
                "visit",
                (
                    Column("Hosp No", FLAT_IDS, "patient_id"),
                    Column("Study eye", ["RE"] * 4 + ["LE"] * 4, "eye"),
                    Column("Date of surgery",
                           [(OPERATED + dt.timedelta(days=30 * (row // 4))).strftime("%d/%m/%Y")
                            for row in range(ROWS)]),
                    Column("Procedure", ["ART"] * 4 + ["amniotic membrane"] * 4),
                    Column("Follow-up date", days(SEEN, 23, "%d/%m/%Y"), "visit_date"),
                    Column("BCVA (logMAR)", some("0.5", "0.78", "1.4"), "acuity",
                           notation="logmar"),
                    Column("Near VA", some("N8", "N12")),
                    Column("Fellow eye BCVA", some("0.0", "0.1")),
                    Column("IOP (mmHg)", some("14", "17"), "iop"),
                    Column("MD (dB)", some("-4.5", "-11.2"), "perimetry_md"),
                    Column("MAIA sensitivity (dB)", some("20.1", "17.9"), "microperimetry_mean"),
                    Column("BCEA 95 (deg2)", some("3.1", "7.9"), "fixation_bcea"),
                    Column("OCT status", some("closed", "open"), "closure"),
                    Column("ELM integrity", some("continuous", "disrupted"), "elm"),
                    Column("EZ defect length (µm)", some("410", "0", "1200"), "ez_defect",
                           unit="um"),
                    Column("CRT", some("310", "288")),
                    Column("Plan", some("", "discharge")),
                ),
                name="csv",
            ),
        ),
    },
    "en", "day-first", "point", kind="csv",
)  # fmt: skip

# Headings that are known over values that settle nothing: a size that fits millimetres and disc
# diameters, a duration without unit.
TURDUS = Centre(
    {
        "mh.ods": (
            Table(
                "operation",
                (
                    Column("Chart no", numbered("{}"), "patient_id"),
                    Column("Eye", some("OD", "OS"), "eye"),
                    Column("Operation date", days(OPERATED, 9), "operation_date"),
                    Column("Surgeon", some("AB", "CD"), "surgeon"),
                    Column("MLD", some(0.61, 0.7, 0.5)),
                    Column("Duration", some(3, 8, 14)),
                    Column("Lens", some("phakic", "IOL"), "lens_status"),
                    Column("Type of surgery", some("ART", "ILM free flap"), "technique"),
                    Column("Tamp", some("SF6", "oil"), "tamponade"),
                ),
                name="All",
            ),
        ),
    },
    "en", "day-first", "point", least_share=0.85, kind="ods",
)  # fmt: skip

CENTRES = {
    "wren": WREN, "zorzal": ZORZAL, "grive": GRIVE, "kiebitz": KIEBITZ, "cotovia": COTOVIA,
    "siskin": SISKIN, "pipit": PIPIT, "turdus": TURDUS,
}  # fmt: skip
