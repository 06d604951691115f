"""The bytes of a Parquet file in, a Sheet out. The column names count as line 1, so the first row is line 2.

Values become the texts a workbook's cells become; null is nothing. A moment with a time zone is written in UTC, with a
Z. Refuses: a broken or encrypted file, one larger than is read, a nested column, bytes that are no text. Names no
column, for the sheet has not been screened yet: it says which one by number.
"""

from __future__ import annotations

import numpy as np
import pyarrow as pa
import pyarrow.compute as pc
import pyarrow.parquet as pq

from pipeline.errors import Fault, Refused
from pipeline.intake.read import column_names
from pipeline.intake.read.cells import cell_text
from pipeline.intake.read.limits import LONGEST_LINE, MOST_VALUES, check_columns, check_files
from pipeline.intake.read.sheet import FIELDS, RECORDS, Reading, Sheet

_ROWS = 100_000  # joined into fields at a time


def read_parquet(body: bytes, file: str, name: str, sha256: str, reading: Reading) -> Sheet:
    """One Parquet file as a Sheet. Raises Refused."""
    if reading.header not in ((), (1,)):
        said, mend = "the names are said to stand in other lines", "leave header out of the mapping for this sheet"
        raise Refused(Fault(file, said, "none said, for Parquet names its columns itself", mend))
    try:
        parquet = pq.ParquetFile(pa.BufferReader(body))
        rows, columns = parquet.metadata.num_rows, len(parquet.schema_arrow)
        check_columns(columns, file)
        if rows * columns > MOST_VALUES:
            found, mend = f"{rows:,} rows of {columns:,} columns", "export a shorter period, or as CSV"
            raise Refused(Fault(file, found, f"at most {MOST_VALUES:,} values", mend))
        groups = range(parquet.metadata.num_row_groups)
        check_files(1, sum(parquet.metadata.row_group(group).total_byte_size for group in groups), file)
        # A text that stands a million times stands in the file once, and is held so until its length is known.
        texts = [field.name for field in parquet.schema_arrow if _is_text(field.type)]
        table = pq.ParquetFile(pa.BufferReader(body), read_dictionary=texts).read()
    except MemoryError:
        raise  # which Arrow's own is too
    except (pa.ArrowException, OSError) as error:
        # The file is in memory already: an OSError is Arrow's word for bytes it cannot read.
        broken = f"the Parquet file cannot be read ({type(error).__name__})"
        raise Refused(Fault(file, broken, "a whole Parquet file, not encrypted", "export it again")) from error
    if not columns:
        raise Refused(Fault(file, "it holds no header", column_names.ALLOWED, "export it again"))
    _check_sizes(table, file)
    texts = [_texts(column, place, file) for place, column in enumerate(table.columns, start=1)]
    lines = pa.array(range(2, rows + 2), pa.int64())
    chunks = [
        pa.table([chunk, chunk, _fields([column.slice(at, _ROWS) for column in texts])], schema=RECORDS)
        for at in range(0, rows, _ROWS)
        for chunk in [lines.slice(at, _ROWS)]
    ]
    return Sheet(
        file=file,
        name=name,
        sha256=sha256,
        header=column_names.names([parquet.schema_arrow.names], file),
        physical_lines=rows + 1,  # by the file's own word on itself, not by what was read of it
        header_lines=1,
        blank_lines=0,
        records=pa.concat_tables([RECORDS.empty_table(), *chunks]),
        damaged=(),
    )


def _check_sizes(table: pa.Table, file: str) -> None:
    """Refuse a text that is too long, or too many bytes of text once each stands where it belongs."""
    size = 0
    for place, column in enumerate(table.columns, start=1):
        for chunk in column.chunks if pa.types.is_dictionary(column.type) else ():
            lengths = pc.binary_length(chunk.dictionary)
            longest = pc.max(lengths).as_py() or 0
            if longest > LONGEST_LINE:
                found, mend = f"a value of {longest:,} bytes", "look at that column, and export it again without it"
                where = f"{file}, column {place}"
                raise Refused(Fault(where, found, f"values of up to {LONGEST_LINE:,} bytes", mend))
            size += pc.sum(lengths.take(chunk.indices)).as_py() or 0
    check_files(1, size, file)


def _fields(columns: list[pa.ChunkedArray]) -> pa.Array:
    """A list for each row, from the texts of each column."""
    arrays = [pa.concat_arrays(column.chunks) if column.num_chunks != 1 else column.chunk(0) for column in columns]
    rows, width = len(arrays[0]), len(arrays)
    by_column = pa.concat_arrays(arrays)
    order = pa.array(np.arange(rows * width).reshape(width, rows).T.ravel())
    offsets = pa.array(np.arange(0, rows * width + 1, width, dtype=np.int32))
    return pa.ListArray.from_arrays(offsets, by_column.take(order)).cast(FIELDS)


def _texts(column: pa.ChunkedArray, place: int, file: str) -> pa.ChunkedArray:
    kind = column.type
    if isinstance(kind, pa.BaseExtensionType):
        column, kind = column.cast(kind.storage_type), kind.storage_type
    if pa.types.is_dictionary(kind):
        column, kind = column.cast(kind.value_type), kind.value_type
    if pa.types.is_nested(kind):
        mend = "export each part as a column of its own"
        raise Refused(Fault(f"{file}, column {place}", "a nested column", "one value in each row", mend))
    try:
        if not (pa.types.is_integer(kind) or _is_text(kind)):
            column = _by_distinct(column)
        return pc.fill_null(column.cast(pa.string()), "")
    except (pa.ArrowException, ValueError, OverflowError, TypeError) as error:
        unreadable = f"values that cannot be read as text ({type(error).__name__}, {kind})"
        allowed = "text, numbers, dates, times, or yes and no"
        raise Refused(Fault(f"{file}, column {place}", unreadable, allowed, "export the column as text")) from error


def _is_text(kind: pa.DataType) -> bool:
    tests = (pa.types.is_string, pa.types.is_large_string, pa.types.is_string_view)
    # Old writers keep text as bytes; the cast refuses what is not UTF-8.
    return any(test(kind) for test in (*tests, pa.types.is_binary, pa.types.is_large_binary, pa.types.is_binary_view))


def _by_distinct(column: pa.ChunkedArray) -> pa.ChunkedArray:
    """Each distinct value is turned into text once."""
    kind = column.type
    if pa.types.is_timestamp(kind):
        column = column.cast(pa.timestamp("us", kind.tz), safe=False)
    elif pa.types.is_time64(kind):
        column = column.cast(pa.time64("us"), safe=False)
    elif pa.types.is_duration(kind):
        column = column.cast(pa.duration("us"), safe=False)
    zoned = pa.types.is_timestamp(kind) and kind.tz is not None
    if zoned:
        column = column.cast(pa.int64()).cast(pa.timestamp("us"))  # in UTC, and without need of a list of zones
    coded = column.combine_chunks().dictionary_encode()
    distinct = coded.dictionary
    if pa.types.is_floating(kind):
        written = [cell_text(value) for value in distinct.to_numpy(zero_copy_only=False)]
    else:
        written = [cell_text(value) for value in distinct.to_pylist()]
    if zoned:  # the day a moment fell on depends on where one stands, so its midnight is never cut to a day
        written = [f"{text}Z" if " " in text else f"{text} 00:00:00Z" for text in written]
    return pa.chunked_array([pa.array(written, pa.string()).take(coded.indices)])
