"""The parts of a zipped workbook: unpacked within limits, and walked as XML."""

from __future__ import annotations

import io
import zipfile
from collections.abc import Callable, Iterator, Mapping
from xml.parsers import expat

from lineproof.show.table_grid import Limits, TooLarge, Unreadable

_ENTRY = b"PK\x01\x02"  # begins each member in a zip's table of contents (APPNOTE 4.3.12)
_RATIO_FROM = 1_000_000  # smaller parts may shrink as much as they like

Start = Callable[[str, Mapping[str, str]], None]
End = Callable[[str], None]
Chars = Callable[[str], None]


class Parts:
    """A workbook's parts, each read once, weighed against the limits."""

    def __init__(self, data: bytes, limits: Limits) -> None:
        # Counted before the zip is opened: the table of contents itself can be the bomb.
        if data.count(_ENTRY) > limits.members:
            raise TooLarge(f"is packed from more than {limits.members:,} parts")
        self._zip = zipfile.ZipFile(io.BytesIO(data))
        self._limits = limits
        self._names = frozenset(self._zip.namelist())
        self._read: dict[str, bytes] = {}
        self._elements = 0
        self._unpacked = 0
        self._cells = 0
        self._area = 0
        self.text = 0  # characters the sheets' cells hold in all, repeats counted

    def has(self, name: str) -> bool:
        """Say whether there is a part of this name."""
        return name in self._names

    def weighed(self) -> Iterator[tuple[str, bytes]]:
        """Give the parts read so far, with their names."""
        yield from self._read.items()

    def read(self, name: str) -> bytes:
        """Give a part's bytes, b"" if there is none. Raises Unreadable or TooLarge."""
        if name in self._read or name not in self._names:
            return self._read.get(name, b"")
        member = self._zip.getinfo(name)
        if member.flag_bits & 1:
            raise Unreadable("it is locked with a password")
        # Workbooks know these two only (ISO/IEC 29500-2; ODF 1.3 part 2); others unpack unchecked.
        if member.compress_type not in (zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED):
            raise Unreadable("it is packed in a way workbooks are not")
        self._weigh(member.file_size, member.compress_size)
        with self._zip.open(member) as part:
            data = part.read(self._limits.unpacked + 1)
        self._read[name] = data
        return data

    def _weigh(self, size: int, packed: int) -> None:
        # `open` never gives more than the size stated, so the statement can be trusted here.
        self._unpacked += size
        if self._unpacked > self._limits.unpacked:
            raise TooLarge(f"unpacks to more than {self._limits.unpacked:,} bytes")
        if size > _RATIO_FROM and size > self._limits.ratio * max(packed, 1):
            raise TooLarge(f"unpacks to more than {self._limits.ratio} times its size")

    def hold(self, characters: int) -> None:
        """Count what a cell will hold; one long text can be shown in many cells."""
        self.text += characters
        if self.text > self._limits.unpacked:
            raise TooLarge(f"holds more than {self._limits.unpacked:,} characters")

    def check_place(self, row: int, column: int, what: str = "has a cell") -> None:
        """Raise TooLarge for a filled cell beyond the limits: readers take all up to it."""
        if row > self._limits.rows:
            more = f"{what} in row {row:,}; at most {self._limits.rows:,} rows are read"
            raise TooLarge(more, row=row, column=column)
        if column > self._limits.columns:
            more = f"{what} in column {column:,}; at most {self._limits.columns:,} are read"
            raise TooLarge(more, row=row, column=column)

    def count_cell(self) -> None:
        """Count one more filled cell. Raises TooLarge beyond the limit."""
        self._cells += 1
        if self._cells > self._limits.cells:
            raise TooLarge(f"holds more than {self._limits.cells:,} cells")

    def lay_out(self, rows: int, columns: int) -> None:
        """Count a sheet's places, blank ones too. Raises TooLarge beyond the limit."""
        self._area += rows * columns
        if self._area > self._limits.area:
            raise TooLarge(f"is spread over more than {self._limits.area:,} places")

    def walk(
        self, name: str, start: Start, end: End | None = None, chars: Chars | None = None
    ) -> None:
        """Walk a part's elements by local name, as does every attribute's.

        Raises Unreadable for what is not well formed or declares entities, TooLarge for too much.
        """
        data = self.read(name)
        if not data:
            return
        parser = expat.ParserCreate()
        parser.buffer_text = True
        parser.StartDoctypeDeclHandler = _no_doctype
        parser.StartElementHandler = self._counted(start)
        if end is not None:
            parser.EndElementHandler = lambda tag: end(_local(tag))
        if chars is not None:
            parser.CharacterDataHandler = chars
        try:
            parser.Parse(data, True)
        except expat.ExpatError as error:
            raise Unreadable(f"its part {name} is damaged in row {error.lineno}") from None

    def _counted(self, start: Start) -> Callable[[str, dict[str, str]], None]:
        def on_start(tag: str, attributes: dict[str, str]) -> None:
            self._elements += 1
            if self._elements > self._limits.elements:
                raise TooLarge(f"is built from more than {self._limits.elements:,} elements")
            start(_local(tag), {_local(key): value for key, value in attributes.items()})

        return on_start


def _local(name: str) -> str:
    return name.rpartition(":")[2]


def _no_doctype(*_: object) -> None:
    raise Unreadable("it declares a document type, as no workbook does")
