"""The files that are made of a capture, by name."""

from collections.abc import Sequence

from wiremap.report.print.label import label
from wiremap.report.print.phone_page import phone
from wiremap.report.print.picture import picture
from wiremap.report.print.run_picture import has_run, run_picture
from wiremap.report.print.sheet import Paper, sheet
from wiremap.report.proof import Proof

ENDINGS = {
    "sheet": (".pdf",),
    "picture": ("-map.png", "-map.svg"),
    "label": ("-label.pdf", "-label.png"),
    "phone": (".html",),
    "run": ("-run.png", "-run.svg"),
}
BUNDLE_KINDS = tuple(ENDINGS)


def usual_kinds(proof: Proof) -> tuple[str, ...]:
    """Return what is made when nobody says what; the run only where something of it was measured."""
    measured = has_run(proof.case.reading, proof.case.diagnosis)
    return tuple(kind for kind in BUNDLE_KINDS if kind != "run" or measured)


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
        case "-run.png":
            return run_picture(proof.case.reading, proof.case.diagnosis, proof.case.pattern, "png", width_mm)
        case "-run.svg":
            return run_picture(proof.case.reading, proof.case.diagnosis, proof.case.pattern, "svg", width_mm)
        case "-label.pdf":
            return label(proof)
        case "-label.png":
            return label(proof, "png")
        case _:
            return phone(proof)
