"""The files that are made of a capture, by name."""

from collections.abc import Sequence

from wiremap.report.label import label
from wiremap.report.phone import phone
from wiremap.report.picture import picture
from wiremap.report.proof import Proof
from wiremap.report.sheet import Paper, sheet

ENDINGS = {
    "sheet": (".pdf",),
    "picture": ("-map.png", "-map.svg"),
    "label": ("-label.pdf", "-label.png"),
    "phone": (".html",),
}
KINDS = tuple(ENDINGS)


def names(stem: str, kinds: Sequence[str]) -> list[str]:
    """Return the names of the files of these kinds, each beginning with `stem`."""
    return [stem + ending for kind in kinds for ending in ENDINGS[kind]]


def made(proof: Proof, ending: str, paper: Paper, width_mm: float) -> bytes:
    """Return the file whose name ends so."""
    match ending:
        case ".pdf":
            return sheet(proof, paper)
        case "-map.png":
            return picture(proof.case, "png", width_mm)
        case "-map.svg":
            return picture(proof.case, "svg", width_mm)
        case "-label.pdf":
            return label(proof)
        case "-label.png":
            return label(proof, "png")
        case _:
            return phone(proof)
