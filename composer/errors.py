"""What can fail outside the program's own control, told so that the user can mend it."""


class ComposerError(Exception):
    """A file, device or request failed. The text is one line: what, where, what to do."""


class TrackError(ComposerError):
    """A music file could not be found, read or understood."""


class RoutineFileError(ComposerError):
    """A routine file could not be read, understood or saved."""


class MoveFileError(ComposerError):
    """A file of moves could not be understood."""


class UnknownName(ComposerError):
    """A move, performer or phrase of that name does not exist."""


class DeviceError(ComposerError):
    """A sound device or port could not be opened or was lost."""


class ExportError(ComposerError):
    """An export could not be made or written."""
