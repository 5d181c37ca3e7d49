"""petalbar words: the trade's words and this program's own, explained."""

import click

from composer.commands.printing import wrapped
from composer.errors import UnknownName
from tui.views.glossary import GLOSSARY


@click.command("words", epilog="\b\nExamples:\n  petalbar words\n  petalbar words entry split")
@click.argument("asked", metavar="[WORD]...", nargs=-1)
def command(asked: tuple[str, ...]) -> None:
    """Say what a word means, or every word that is used here."""
    found = {word: GLOSSARY[word] for text in asked or GLOSSARY for word in explained(text)}
    for word, meaning in found.items():
        click.echo("\n".join([word, *wrapped(meaning, " " * 4)]))


def explained(text: str) -> list[str]:
    """The entries that bear a word: itself, or every one it is part of.

    Raises
    ------
    UnknownName
        If there is none.
    """
    wanted = text.strip().casefold()
    if wanted in GLOSSARY:
        return [wanted]
    parts = [word for word in GLOSSARY if len(wanted) > 2 and wanted in word]
    if not parts:
        raise UnknownName(
            f'"{text}" is not among the words explained; "petalbar words" lists them, '
            f'"petalbar moves --search" looks among the moves'
        )
    return parts
