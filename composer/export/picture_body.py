"""The performer's figure to scale, from the front, the side or above, reaching for her props."""

from typing import TYPE_CHECKING

import numpy as np

from composer.export.picture import BODY_INK, NIGHT, Dot, Shape, Stroke
from composer.motion.body import Body
from composer.motion.hands import Hand
from composer.motion.pattern import Floats
from composer.motion.plane import Plane

if TYPE_CHECKING:
    from composer.export.picture_move import Lens
    from composer.moves.perform import Performance
