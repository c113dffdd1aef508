"""Which tools, supplies and materials call for which hazard: data only, read by the rule `hazard`.

Each row has its source with its year, and how it was had: "seen" (the passage), "from memory" (not seen again), or it
says "common practice, no published source". A row asks for a hazard to be told; it is no safety sheet, and it claims no
conformity with what it names. Words are matched whole, small or large, one or many; a hyphen is as good as a space.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import cached_property

PRACTICE = "common practice, no published source"


@dataclass(eq=False)
class Row:
    """One kind of thing and the hazard it calls for. Of two rows with the same words, the first that fits counts.

    `words` call for it wherever they stand, `laid_out` only among what is needed (in a sentence they may mean something
    else). `beside`: only where one of these stands in the same step or list. `but`: not where one of these follows at
    once. `told_by`: any of these in a hazard of that `grade`, or a graver one, tells it (a regular expression); so does
    the word that calls.
    """

    wants: str
    grade: str
    told_by: str
    source: str
    words: tuple[str, ...] = ()
    laid_out: tuple[str, ...] = ()
    beside: tuple[str, ...] = ()
    but: tuple[str, ...] = ()
    severity: str = "advice"

    @cached_property
    def told(self) -> re.Pattern[str]:
        """What tells it, made ready."""
        return re.compile(self.told_by)


_HEAT = (
    *("heat", "heat gun", "hot air", "hot iron", "hot knife", "soldering iron", "glue gun", "steam", "boiling water"),
    *("flame", "blowtorch", "gas torch", "candle", "sun", "sunlight"),
)
_ABRASION = (
    *("sand", "sanding", "sandpaper", "sander", "abrasive paper", "emery cloth", "emery paper", "grind", "grinding"),
    *("grinder", "file", "filing", "drill", "drilling", "buff", "buffing", "buffing wheel", "polishing wheel"),
    *("rotary tool", "sawing", "hacksaw", "scrape", "scraping"),
)
_CELLULOID = ("celluloid", "cellulose nitrate", "nitrocellulose")
_FIRE = r"fire|flame|burn|alight|ignit"
_LIFTS = ("lift", "carry", "turn over")
_HEAVY = ("timpani", "timpano", "kettledrum", "marimba", "vibraphone", "bass drum")

ROWS: tuple[Row, ...] = (
    # --- what burns ---
    Row(
        "it burns fiercely and needs no air; no heat, spark or friction comes near it",
        "warning",
        r"celluloid|cellulose|\bwraps?\b",
        "CCI Notes 15/3 (seen in part; year from memory: 1994); NPS Conserve O Gram 2/22 (seen in part, no year)",
        words=_CELLULOID,
        beside=(*_HEAT, *_ABRASION),
        severity="error",  # heat or friction on such a wrap without a word of it is what these notes exist to stop
    ),
    Row(
        "it burns fiercely and needs no air",
        "warning",
        r"celluloid|cellulose|\bwraps?\b",
        "CCI Notes 15/3 (seen in part; year from memory: 1994); NPS Conserve O Gram 2/22 (seen in part, no year)",
        words=_CELLULOID,
    ),
    Row(
        "an old wrap may be celluloid, which burns fiercely",
        "warning",
        r"celluloid|cellulose|\bwraps?\b",
        "CCI Notes 15/3 (seen in part; year from memory: 1994); that wraps were made of it: common practice",
        words=("old wrap", "the wrap", "plastic wrap"),
        beside=(*_HEAT, *_ABRASION),
    ),
    Row(
        "its vapour catches fire, and is breathed",
        "warning",
        r"vapou?r|fume|flammable|solvent|ventilat",
        "ICSC 0087 on acetone (seen, no year); 29 CFR 1910.1200, 2012 (from memory)",
        words=(
            *("acetone", "alcohol", "isopropanol", "methylated spirit", "white spirit", "mineral spirit", "naphtha"),
            *("solvent", "turpentine", "petrol", "lacquer thinner", "paint thinner", "lighter fluid", "paint stripper"),
            *("contact cement", "contact adhesive", "brake cleaner", "aerosol", "spray can", "spray lacquer"),
        ),
        but=("free",),
    ),
    Row(
        "rags wet with it grow hot by themselves and catch fire",
        "warning",
        r"\brags?\b|self.heat|by themselves|by itself",
        "OSHA letter of interpretation of 28 February 1996 on linseed oil (seen)",
        words=("linseed oil", "boiled linseed", "tung oil", "drying oil", "oily rag"),
    ),
    Row(
        "an open flame burns the hand and sets fire",
        "warning",
        _FIRE,
        PRACTICE,
        words=("flame", "blowtorch", "gas torch", "butane torch", "candle"),
        laid_out=("lighter", "torch", "gas burner"),
    ),
    Row(
        "hot parts burn the skin",
        "caution",
        r"burn|scald|\bhot\b|heat",
        PRACTICE,
        words=(
            *("heat gun", "hot air gun", "soldering iron", "hot iron", "hot knife", "hot plate", "glue gun"),
            *("boiling water", "steam"),
        ),
    ),
    # --- what is breathed, swallowed or splashed ---
    Row(
        "it may hold lead, and its fumes are breathed",
        "caution",
        r"\blead\b|fume|smoke|lungs|breath",
        "29 CFR 1910.1025, 1978 (from memory)",
        words=("lead solder", "leaded solder", "soldering iron", "soldering flux"),
        laid_out=("solder", "flux"),
    ),
    Row(
        "its gas harms the lungs, and more so when it is mixed",
        "warning",
        r"\bgas|lungs|breath|fume|mix",
        PRACTICE,
        words=("ammonia", "bleach", "acid"),
        but=("free",),
    ),
    Row(
        "it harms skin and eyes",
        "caution",
        r"skin|eyes?\b|fingers|gloves|fume|breath",
        PRACTICE,
        words=("epoxy", "cyanoacrylate", "superglue", "super glue", "instant glue", "instant adhesive"),
        laid_out=("metal polish", "brass polish", "chrome polish"),
    ),
    Row(
        "old plating and paint may hold cadmium, chromium or lead, and the dust harms the lungs",
        "caution",
        r"cadmium|chrom|\blead\b|dust|lungs|breath",
        "29 CFR 1910.1027, 1992, 1910.1026, 2006, and 1910.1025, 1978 (from memory)",
        words=("plating", "chrome", "cadmium", "old paint", "lead paint"),
        beside=_ABRASION,
    ),
    Row(
        "the dust gets into eyes and lungs",
        "caution",
        r"dust|lungs|breath|\bmask",
        "OSHA final rule on air contaminants, wood dust, 54 FR 2332, 1989 (seen)",
        words=(
            *("sandpaper", "sanding block", "sanding disc", "abrasive paper", "emery cloth", "emery paper", "sander"),
            *("wet-and-dry paper", "sand", "sanding"),
        ),
    ),
    # --- what cuts, flies and catches ---
    Row(
        "the edge slips and cuts",
        "caution",
        r"\bcuts?\b|knife|knives|blade|sharp|slip|snips",
        PRACTICE,
        words=(
            "knife",
            "scalpel",
            "razor blade",
            "cutter",
            "side cutter",
            "wire cutter",
            "snips",
            "tin shears",
            "chisel",
        ),
    ),
    Row(
        "burrs and swarf cut, and get into the eye",
        "caution",
        r"swarf|burr|filings|splinter|chips|\beyes?\b",
        "29 CFR 1910.133(a)(1), 1994 (from memory)",
        words=("file", "needle file", "countersink", "reamer", "deburring tool", "hacksaw"),
        but=("number", "name"),
    ),
    Row(
        "chips fly into the eye",
        "caution",
        r"\bfl(?:y|ies)\b|thrown|chips|swarf|\beyes?\b|catch",
        "29 CFR 1910.133(a)(1), 1994 (from memory)",
        words=("drill", "drill press", "rotary tool", "jigsaw", "router"),
        but=("nothing",),
    ),
    Row(
        "what turns throws chips, and catches hair and sleeves",
        "warning",
        r"\bfl(?:y|ies)\b|thrown|chips|swarf|sparks|\beyes?\b|catch|hair|sleeve",
        "29 CFR 1910.212(a)(1), 1974, and 1910.133(a)(1), 1994 (from memory)",
        words=(
            *("bench grinder", "angle grinder", "grinder", "grinding wheel", "belt sander", "buffing wheel"),
            *("polishing wheel", "lathe", "band saw", "bandsaw", "circular saw", "table saw"),
        ),
    ),
    Row(
        "it blows chips and dust into eyes and skin",
        "caution",
        r"\beyes?\b|skin|chips|swarf|dust|blow",
        "29 CFR 1910.242(b), 1974 (seen; year from memory)",
        words=("compressed air", "air gun", "air line", "air nozzle", "blow gun"),
    ),
    Row(
        "the spring lets go and strikes",
        "caution",
        r"spring|lets? go|\bfl(?:y|ies)\b|strikes|face",
        PRACTICE,
        words=("balance spring", "pedal spring", "torsion spring", "compressed spring", "spring compressor"),
    ),
    # --- what is loud, heavy or live ---
    Row(
        "loud strokes one after another harm hearing",
        "caution",
        r"hearing|\bears?\b|loud",
        "NIOSH publication 98-126, 1998 (seen as others restate it)",
        words=("hard stroke", "loud stroke", "full stroke", "rim shot", "rimshot"),
        laid_out=("ear plug", "earplug", "ear defender", "ear muff", "hearing protection"),
    ),
    Row(
        "something flies or splashes into the eye",
        "caution",
        r"\beyes?\b|\bfl(?:y|ies)\b|glasses|goggles|splash|face",
        PRACTICE,  # who lays out glasses knows why; the technician should, too
        laid_out=("safety glasses", "glasses", "goggles", "face shield", "eye protection"),
    ),
    Row(
        "something in the air harms the lungs",
        "caution",
        r"lungs|breath|dust|fume|vapou?r|\bgas\b|mask|respirator|mould",
        PRACTICE,
        laid_out=("respirator", "dust mask", "breathing mask"),
    ),
    Row(
        "it is too heavy for one: backs are strained and fingers crushed",
        "caution",
        r"heavy|weight|two people|\bback\b|strain|crush",
        PRACTICE,
        words=tuple(f"{lift} the {thing}" for lift in _LIFTS for thing in _HEAVY),
        but=("head", "hoop", "pedal", "bar", "rod", "lug"),
    ),
    Row(
        "mains voltage kills",
        "warning",
        r"mains|shock|unplug|voltage|electric",
        "29 CFR 1910.333(a)(1), 1990 (from memory)",
        words=("mains", "mains plug", "mains lead", "live wire", "motor housing", "motor cover", "circuit board"),
    ),
)
