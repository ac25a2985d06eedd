"""The tester: asked over USB, it measures and answers; it says nothing unasked."""

import commands
import dialogue
import queries
import safety
import scpi
import watchdog

IDLE_MS = 20


def run() -> None:
    """Answer until the line is gone."""
    status = scpi.Status()
    parser = commands.parser(status)
    while True:
        watchdog.alive()
        try:
            message = dialogue.message(0 if queries.busy() else IDLE_MS)
        except dialogue.Overrun:
            status.add(scpi.BUFFER_OVERRUN, "")
            continue
        except dialogue.LineClosed:
            return
        if message:
            watchdog.watch_over()
            text = parser.obey(message)
            if text:
                dialogue.answer(text)
        else:
            queries.go_on()


safety.begin()
try:
    run()
finally:
    safety.let_go()
