"""The trade's words and this program's own, each explained in a sentence or two."""

GLOSSARY: dict[str, str] = {
    "anti-spin": "The head turns against the way the hand goes round. Its flower has one petal "
    "more than the head has turns for each turn of the hand.",
    "bar": "The music's group of beats, four in most tracks. The sheet gives two bars a row.",
    "beat": "What you tap your foot to. Beats are counted from 0, the first downbeat of the music.",
    "canon": "A part that is another's some beats later.",
    "cat-eye": "The head turns once against the hand: it draws a long ellipse.",
    "circle": "How far arm, prop and head reach about who stands there.",
    "closes": "A move closes when hands and heads are back where it began, so that it can be "
    "repeated or left on the music.",
    "composite": "A pattern put together from parts of others.",
    "count": "A beat as it is counted out, usually one to eight.",
    "cycle": "The shortest stretch after which both hands are back where they began.",
    "downbeat of a hand": "The instant its tether passes straight down. R, L and B under the moves "
    "tell on which counts right, left or both do.",
    "downbeat of the music": "The first beat of a bar.",
    "eight": "Eight counts, two bars of four: what the trade counts in.",
    "entry": "On which of its downbeats a move is begun. Another entry often makes a change flow.",
    "extension": "Hand and head turn together on one spoke: the largest circle.",
    "facing": "Where the body looks. A quarter turn to the left is counter-clockwise from above.",
    "finding": "Something the checks noticed: ✖ an error, ▲ a warning, ○ a note. It tells figures "
    "and reasons; whether it matters is for you to say.",
    "flower": "What the head draws when it turns faster than the hand that goes round.",
    "follows": "A part, or a stretch of it, that is another's: in unison, mirrored, or with hands "
    "swapped. It changes when hers does.",
    "head": "The weighted end of a prop.",
    "hybrid": "Two one-hand moves at once, one in each hand.",
    "in-spin": "The head turns the way the hand goes round. Its flower has one petal fewer than "
    "the head has turns for each turn of the hand.",
    "isolation": "Hand and head run on one circle, opposite each other.",
    "lands": "Comes to a bar line: closing there, passing straight down, or with heads that meet.",
    "mirrored": "Left and right exchanged, in space and in the hands.",
    "opposite": "The two turn against each other as you see them.",
    "pendulum": "The head swings to and fro through the lowest point.",
    "petal": "One lobe of a flower.",
    "phrase": "A stretch of music that belongs together, often 32 beats.",
    "pinned": "Set on its moment: no proposal moves it.",
    "plane": "The flat sheet of air a prop stays in: wall before you, wheel beside you, floor.",
    "quarter": "One head is a quarter of a turn ahead of the other.",
    "rate": "Downbeats of the busier hand for each beat; one is usual.",
    "relation": "How the hands run against each other: together, split or quarter in timing, same "
    "or opposite in direction.",
    "same": "The two turn the same way as you see them.",
    "split": "One head points down when the other points up.",
    "spot": "Where you stand on the floor.",
    "stage right": "The right of who faces the audience; upstage is away from it.",
    "stall": "The head hangs still for an instant; from there it may turn back.",
    "static spin": "The hand stays, the head turns about it.",
    "swapped": "Each hand does what the other did, at the same places.",
    "tether": "What joins hand and head: a cord, a chain, the shaft of a staff or club.",
    "together": "Both heads point down at once.",
    "triquetra": "The three-petal anti-spin flower.",
    "unison": "Several doing the same at the same place of its cycle.",
}
