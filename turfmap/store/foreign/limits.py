"""How much a foreign file may hold: past any of these it is refused with one sentence.

They are our own choices, far above any lawn round we know of and far below what would
hurt the machine: a region of 300,000 zones of 60 corners fits.
"""

MEBIBYTE = 1024 * 1024

MAX_FILE_BYTES = 1024 * MEBIBYTE
MAX_TEXT_BYTES = 128 * MEBIBYTE  # formats that are text and are parsed whole
MAX_RECORDS = 1_000_000
MAX_COLUMNS = 500
MAX_VALUE_CHARACTERS = 64_000
MAX_RECORD_VERTICES = 250_000
MAX_VERTICES = 20_000_000
MAX_CRS_CHARACTERS = 20_000
MAX_LAYERS_NAMED = 20  # how many layer names one sentence lists

MAX_ARCHIVE_MEMBERS = 1_000
# A table padded with blanks packs about 100 to 1 in an honest zip file; a bomb packs 1000 to 1.
MAX_ARCHIVE_RATIO = 200
SMALL_MEMBER_BYTES = MEBIBYTE  # below this any ratio is harmless

MAX_XML_DEPTH = 60
MAX_XML_ELEMENTS = 5_000_000
MAX_JSON_DEPTH = 100

WORKER_MEMORY_BYTES = 2 * 1024 * MEBIBYTE
WORKER_WRITES_BYTES = 64 * MEBIBYTE  # SQLite's own side files; nothing else is written
WORKER_START_S = 60.0
WORKER_S_PER_MEBIBYTE = 2.0
MAX_LINE_BYTES = 64 * MEBIBYTE
MAX_ANSWER_BYTES = 1024 * MEBIBYTE
