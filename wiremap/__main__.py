"""`python -m wiremap` and the `wiremap` command."""


def main() -> None:
    """Run the command line; kept apart so that importing this module costs nothing."""
    from wiremap.cli.app import run

    run()


if __name__ == "__main__":
    main()
