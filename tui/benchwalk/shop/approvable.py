"""Whether a procedure may be approved: nothing in it or in what it runs is an error, its examples walked."""

from __future__ import annotations

from ..errors import Refused
from ..job.approvals import approvals
from ..job.shop import Shop
from ..library import Library
from ..procedure.linked import Linked
from ..proof.check import check_source, telling
from ..sums import compute


def must_be_clean(shop: Shop, linked: Linked, library: Library) -> None:
    """Refused with the first error of the procedure, or of one that it runs, with its place.

    Another text under a revision that the shop has approved already is an error. This takes seconds.
    """
    given = approvals(shop)
    tell = telling(compute)  # walked now, whatever was kept: this is the gate
    for book in linked.family():
        found = check_source(book.source, book, known=library.ids(), tell=tell, approvals=given)
        errors = [finding for finding in found if finding.severity == "error"]
        if errors:
            place = f"{book.source.name}:{errors[0].pos.line}:{errors[0].pos.column}"
            raise Refused(f"it is not clean, so it is not approved: {errors[0].message}", place)
