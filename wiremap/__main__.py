"""`python -m wiremap` and the `wiremap` command."""

FEW_COLLECTIONS = 100_000  # new objects between two; a short command makes half as many, nearly all of them to stay


def main() -> None:
    """Run the command line; kept apart so that importing this module costs nothing."""
    import gc

    gc.set_threshold(FEW_COLLECTIONS)  # Python's own 700 looks through all that is being loaded again and again
    from wiremap.cli.app import run

    try:
        run()
    finally:
        gc.freeze()  # the process ends: what it has goes back as a whole, and need not be looked through once more


if __name__ == "__main__":
    main()
