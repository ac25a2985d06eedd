"""The files that are made of a capture, by name."""

from collections.abc import Iterator, Sequence

from wiremap.report.label import label
from wiremap.report.phone import phone
from wiremap.report.picture import picture
from wiremap.report.proof import Proof
from wiremap.report.sheet import Paper, sheet

KINDS = ("sheet", "picture", "label", "phone")


def bundle(proof: Proof, stem: str, kinds: Sequence[str], paper: Paper, width_mm: float) -> Iterator[tuple[str, bytes]]:
    """Give (file name, content) of what is asked for; every name begins with `stem`."""
    if "sheet" in kinds:
        yield f"{stem}.pdf", sheet(proof, paper)
    if "picture" in kinds:
        yield f"{stem}-map.png", picture(proof.case, "png", width_mm)
        yield f"{stem}-map.svg", picture(proof.case, "svg", width_mm)
    if "label" in kinds:
        yield f"{stem}-label.pdf", label(proof)
        yield f"{stem}-label.png", label(proof, "png")
    if "phone" in kinds:
        yield f"{stem}.html", phone(proof)
