"""`python -m wiremap` and the `wiremap` command."""

FEW_COLLECTIONS = 50_000  # new objects between two; a short command makes about as many, nearly all of them to stay


def main() -> None:
    """Run the command line; kept apart so that importing this module costs nothing."""
    import gc

    gc.set_threshold(FEW_COLLECTIONS)  # Python's own 700 looks through all that is being loaded again and again
    from wiremap.cli.app import run

    run()


if __name__ == "__main__":
    main()
