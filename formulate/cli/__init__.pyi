from .commands import COMMANDS as COMMANDS
from .commands import build_parser as build_parser
from .commands import entry as entry
from .commands import main as main
