"""Writes the Parquet files of this folder with the libraries that people write Parquet with, and the same records as
snapshot documents, one a line, for `wherefore judge`.

    python3 -m venv v && v/bin/pip install pyarrow==26.0.1 pandas==3.1.1 polars==2.1.0 duckdb==2.0.1 pyspark==4.3.0
    v/bin/python make.py            (Spark wants Java 17; without pyspark the other files are made)

Every record is invented. A column is called KIND|TYPE: the kind of fact it holds and the type it is written as; kinds
are those of `kinds.wherefore`. A column KIND|!TYPE is of a type that must be refused.
"""

import datetime as dt
import decimal
import json
import os
import random

HERE = os.path.dirname(os.path.abspath(__file__))
N = 40
random.seed(20261128)

# Four bytes whose value, written in decimal, would read as other bytes in hexadecimal, and such as fill all widths.
STATUS = [0x81076504, 0x0007E500, 0x00076504, 0x04D52118, 0x00BC614E, 0xFF07FFFF, 0x80076504, 0x7F07E5E5, 0x01076100,
          0x00070400, 81076504, 7654321, 12345678]


def maybe(value, row, kind):
    """Leaves out a value here and there, another kind in another record."""
    return None if (row + kind) % 9 == 0 else value


def records():
    made = []
    for row in range(N):
        r = random.Random(row)
        year = r.choice([1998, 2007, 2008, 2014])
        registered = r.choice([dt.date(2010, 6, 30), dt.date(2010, 7, 1), dt.date(1969, 12, 31), dt.date(2019, 1, 2)])
        made.append({
            "id": f"R{row:03}",
            "date": r.choice([dt.date(2023, 12, 31), dt.date(2024, 1, 1), dt.date(2025, 2, 28), dt.date(2024, 2, 29)]),
            "registered": maybe(registered, row, 1),
            "fuel": maybe(r.choice(["G", "N"]), row, 2),
            "lamp": maybe(r.choice([True, False]), row, 3),
            "year": maybe(year, row, 4),
            "odometer": maybe(r.choice([99999, 100000, 100001, 3]), row, 5),
            "make": maybe(r.choice(["Rumpler", "Borgward", "Röhr"]), row, 6),
            "earlier": maybe(r.choice([[], ["catalyst"], ["catalyst", "evaporative"]]), row, 7),
            "codes": maybe(r.choice([[], ["P0420"], ["P0171", "P0442"]]), row, 8),
            "catalyst": maybe(r.choice(["C", "I", "U"]), row, 0),
            "status": maybe(r.choice(STATUS), row, 1),
            "exhaust": maybe(r.choice(["ok", "hole"]), row, 2),
            "certified": maybe(r.choice([True, False]), row, 3),
            "days": maybe(r.choice([0, 29, 30, 365]), row, 4),
            "result": maybe(r.choice(["P", "F"]), row, 5),
        })
    return made


RECORDS = records()


def column(kind):
    return [record[kind] for record in RECORDS]


def some(kind, of):
    return [None if value is None else of(value) for value in column(kind)]


def as_bytes(status):
    return None if status is None else status.to_bytes(4, "big")


def moment(day):
    """Late in the evening: a day taken in another zone would be the next one."""
    return None if day is None else dt.datetime(day.year, day.month, day.day, 23, 30)


def snapshots():
    """The records as `wherefore judge` reads them, but for the bytes of PID $01, which stand beside as they are."""
    for record in RECORDS:
        yield json.dumps({
            **record, "date": record["date"].isoformat(),
            "registered": record["registered"] and record["registered"].isoformat(),
            "status": None if record["status"] is None else f"{record['status']:08X}",
        }, ensure_ascii=False)


def with_pyarrow():
    import pyarrow as pa
    import pyarrow.parquet as pq

    columns = {"id|text": pa.array(column("id"))}

    def put(kind, name, values, kind_of):
        columns[f"{kind}|{name}"] = pa.array(values, kind_of)

    def dictionary(kind, name, values, key, value):
        known = list(dict.fromkeys(it for it in values if it is not None))
        keys = pa.array([None if it is None else known.index(it) for it in values], key)
        columns[f"{kind}|{name}"] = pa.DictionaryArray.from_arrays(keys, pa.array(known, value))

    text_types = {"string": pa.string(), "large_string": pa.large_string(), "string_view": pa.string_view(),
                  "binary": pa.binary(), "large_binary": pa.large_binary()}
    texts = {
        "fuel": column("fuel"), "make": column("make"), "catalyst": column("catalyst"), "exhaust": column("exhaust"),
        "result": column("result"), "lamp": some("lamp", lambda it: "Y" if it else "N"),
        "certified": some("certified", lambda it: "Y" if it else "N"),
        "status": some("status", lambda it: f"{it:08X}"), "year": some("year", str),
        "date": some("date", dt.date.isoformat), "registered": some("registered", dt.date.isoformat),
        "codes": some("codes", lambda it: "|".join(it) or "none"),
        "earlier": some("earlier", lambda it: "|".join(it) or "none"), "days": some("days", str),
    }
    keys = {"int8": pa.int8(), "int16": pa.int16(), "int32": pa.int32(), "int64": pa.int64(),
            "uint8": pa.uint8(), "uint16": pa.uint16(), "uint32": pa.uint32()}
    for kind, values in texts.items():
        for name, of in text_types.items():
            put(kind, name, [it.encode() if it is not None and "binary" in name else it for it in values], of)
        for place, (name, key) in enumerate(keys.items()):
            value = [pa.string(), pa.large_string()][place % 2]
            dictionary(kind, f"dictionary({name},{value})", values, key, value)
    whole = {"int8": pa.int8(), "int16": pa.int16(), "int32": pa.int32(), "int64": pa.int64(), "uint8": pa.uint8(),
             "uint16": pa.uint16(), "uint32": pa.uint32(), "uint64": pa.uint64()}
    for kind, values in {"year": column("year"), "odometer": column("odometer"), "days": column("days"),
                         "lamp": some("lamp", int), "certified": some("certified", int)}.items():
        for name, of in whole.items():
            try:
                put(kind, name, values, of)
            except (pa.lib.ArrowInvalid, OverflowError):
                continue
        if kind in ("lamp", "certified"):
            continue
        put(kind, "float32", [None if it is None else float(it) for it in values], pa.float32())
        put(kind, "float64", [None if it is None else float(it) for it in values], pa.float64())
        put(kind, "decimal", [None if it is None else decimal.Decimal(it) for it in values], pa.decimal128(9, 0))
        put(kind, "decimal2", [None if it is None else decimal.Decimal(it) for it in values], pa.decimal128(12, 2))
        dictionary(kind, "dictionary(int8,int32)", values, pa.int8(), pa.int32())
    for name in ("int64", "uint32", "uint64"):
        put("status", name, column("status"), whole[name])
    put("status", "decimal", some("status", decimal.Decimal), pa.decimal128(12, 0))
    dictionary("status", "dictionary(int8,int64)", column("status"), pa.int8(), pa.int64())
    put("status", "four bytes", some("status", as_bytes), pa.binary(4))
    put("status", "bytes", some("status", as_bytes), pa.binary())
    put("status", "large bytes", some("status", as_bytes), pa.large_binary())
    put("status", "response", some("status", lambda it: b"\x41\x01" + as_bytes(it)), pa.binary())
    put("status", "!float64", some("status", float), pa.float64())
    put("status", "!bool", column("lamp"), pa.bool_())
    put("status", "!list", some("status", lambda it: [it]), pa.list_(pa.int64()))
    for kind in ("lamp", "certified"):
        put(kind, "bool", column(kind), pa.bool_())
    put("year", "!bool", column("lamp"), pa.bool_())
    for kind in ("date", "registered"):
        put(kind, "date32", column(kind), pa.date32())
        put(kind, "date64", column(kind), pa.date64())
        put(kind, "YYYYMMDD int32", some(kind, lambda it: int(f"{it:%Y%m%d}")), pa.int32())
        for unit in ("s", "ms", "us", "ns"):
            put(kind, f"timestamp({unit})", some(kind, moment), pa.timestamp(unit))
        put(kind, "timestamp(us,UTC)", some(kind, moment), pa.timestamp("us", "UTC"))
        ahead = dt.timezone(dt.timedelta(hours=-7))
        there = some(kind, lambda it: moment(it).replace(tzinfo=ahead))
        put(kind, "timestamp(us,-07:00)", there, pa.timestamp("us", "-07:00"))
        put(kind, "!timestamp(us,America/Denver)", there, pa.timestamp("us", "America/Denver"))
        dictionary(kind, "dictionary(int8,date32)", column(kind), pa.int8(), pa.date32())
    put("date", "!time", [dt.time(12)] * N, pa.time64("us"))
    for kind in ("codes", "earlier"):
        put(kind, "list", column(kind), pa.list_(pa.string()))
        put(kind, "large_list", column(kind), pa.large_list(pa.large_string()))
        put(kind, "list of views", column(kind), pa.list_(pa.string_view()))
    put("make", "!struct", [{"a": 1}] * N, pa.struct([("a", pa.int32())]))
    put("make", "!list", column("codes"), pa.list_(pa.string()))
    put("fuel", "!map", [[("a", 1)]] * N, pa.map_(pa.string(), pa.int32()))
    pq.write_table(pa.table(columns), os.path.join(HERE, "pyarrow.parquet"), compression="zstd",
                   use_dictionary=False, write_statistics=False)
    # The same without the Arrow schema: what a reader makes of the Parquet types alone.
    plain = {name: array for name, array in columns.items() if "view" not in name}
    pq.write_table(pa.table(plain), os.path.join(HERE, "pyarrow-bare.parquet"), compression="zstd",
                   store_schema=False, write_statistics=False)


def with_pandas():
    import pandas as pd

    columns = {"id|object": pd.Series(column("id"), dtype=object)}
    for kind in ("fuel", "make", "catalyst", "exhaust", "result"):
        values = column(kind)
        columns[f"{kind}|object"] = pd.Series(values, dtype=object)
        columns[f"{kind}|str"] = pd.Series(values, dtype="str")
        columns[f"{kind}|category"] = pd.Series(values, dtype="category")
        columns[f"{kind}|string"] = pd.Series(values, dtype="string")
    for kind in ("lamp", "certified"):
        columns[f"{kind}|boolean"] = pd.Series(column(kind), dtype="boolean")
        columns[f"{kind}|object"] = pd.Series(column(kind), dtype=object)
        columns[f"{kind}|category"] = pd.Series(column(kind), dtype="category")
    for kind in ("year", "odometer", "days"):
        columns[f"{kind}|Int64"] = pd.Series(column(kind), dtype="Int64")
        columns[f"{kind}|Int32"] = pd.Series(column(kind), dtype="Int32")
        columns[f"{kind}|float64"] = pd.Series(column(kind), dtype="float64")
        columns[f"{kind}|category"] = pd.Series(pd.Series(column(kind), dtype="Int64"), dtype="category")
    columns["status|Int64"] = pd.Series(column("status"), dtype="Int64")
    columns["status|UInt32"] = pd.Series(column("status"), dtype="UInt32")
    columns["status|category"] = pd.Series(pd.Series(column("status"), dtype="Int64"), dtype="category")
    columns["status|object of text"] = pd.Series(some("status", lambda it: f"{it:08X}"), dtype=object)
    columns["status|!float64"] = pd.Series(column("status"), dtype="float64")
    for kind in ("date", "registered"):
        columns[f"{kind}|object of dates"] = pd.Series(column(kind), dtype=object)
        columns[f"{kind}|datetime64[ns]"] = pd.Series(pd.to_datetime(some(kind, moment))).astype("datetime64[ns]")
        columns[f"{kind}|datetime64[s]"] = pd.Series(pd.to_datetime(some(kind, moment))).astype("datetime64[s]")
        columns[f"{kind}|UTC"] = pd.Series(pd.to_datetime(some(kind, moment), utc=True))
        columns[f"{kind}|category"] = pd.Series(pd.to_datetime(some(kind, moment))).astype("category")
    for kind in ("codes", "earlier"):
        columns[f"{kind}|object of lists"] = pd.Series(column(kind), dtype=object)
        joined = some(kind, lambda it: "|".join(it) or "none")
        columns[f"{kind}|category"] = pd.Series(joined, dtype="category")
    pd.DataFrame(columns).to_parquet(os.path.join(HERE, "pandas.parquet"), index=False, compression="zstd")


def with_polars():
    import polars as pl

    columns = [pl.Series("id|String", column("id"))]

    def put(kind, name, values, kind_of):
        columns.append(pl.Series(f"{kind}|{name}", values, dtype=kind_of))

    for kind in ("fuel", "make", "catalyst", "exhaust", "result"):
        values = column(kind)
        put(kind, "String", values, pl.String)
        put(kind, "Categorical", values, pl.Categorical)
        put(kind, "Enum", values, pl.Enum(sorted({it for it in values if it is not None})))
    for kind in ("lamp", "certified"):
        put(kind, "Boolean", column(kind), pl.Boolean)
        put(kind, "Categorical", some(kind, lambda it: "Y" if it else "N"), pl.Categorical)
    for kind in ("year", "odometer", "days"):
        for name, of in {"Int32": pl.Int32, "Int64": pl.Int64, "UInt32": pl.UInt32, "UInt64": pl.UInt64,
                         "Float64": pl.Float64}.items():
            put(kind, name, column(kind), of)
    put("year", "Int16", column("year"), pl.Int16)
    put("days", "UInt16", column("days"), pl.UInt16)
    put("status", "Int64", column("status"), pl.Int64)
    put("status", "UInt32", column("status"), pl.UInt32)
    put("status", "UInt64", column("status"), pl.UInt64)
    put("status", "Binary", some("status", as_bytes), pl.Binary)
    put("status", "Categorical", some("status", lambda it: f"{it:08X}"), pl.Categorical)
    put("status", "!Float64", some("status", float), pl.Float64)
    for kind in ("date", "registered"):
        put(kind, "Date", column(kind), pl.Date)
        for unit in ("ms", "us", "ns"):
            put(kind, f"Datetime({unit})", some(kind, moment), pl.Datetime(unit))
        put(kind, "String", some(kind, dt.date.isoformat), pl.String)
    for kind in ("codes", "earlier"):
        put(kind, "List(String)", column(kind), pl.List(pl.String))
        put(kind, "Categorical", some(kind, lambda it: "|".join(it) or "none"), pl.Categorical)
    pl.DataFrame(columns).write_parquet(os.path.join(HERE, "polars.parquet"), statistics=False)


def with_duckdb():
    import duckdb

    db = duckdb.connect()
    names, rows = [], []

    def put(kind, name, values, sql):
        names.append(f'"{kind}|{name}" {sql}')
        rows.append(values)

    put("id", "VARCHAR", column("id"), "VARCHAR")
    for place, kind in enumerate(("fuel", "make", "catalyst", "exhaust", "result")):
        values = column(kind)
        put(kind, "VARCHAR", values, "VARCHAR")
        known = sorted({it for it in values if it is not None})
        db.execute(f"CREATE TYPE e{place} AS ENUM ({', '.join(repr(it) for it in known)})")
        put(kind, "ENUM", values, f"e{place}")
    for kind in ("lamp", "certified"):
        put(kind, "BOOLEAN", column(kind), "BOOLEAN")
        put(kind, "TINYINT", some(kind, int), "TINYINT")
    for kind in ("year", "odometer", "days"):
        for sql in ("INTEGER", "BIGINT", "UINTEGER", "UBIGINT", "DOUBLE", "DECIMAL(9,0)", "DECIMAL(18,2)", "DECIMAL(30,0)",
                    "HUGEINT", "VARCHAR"):
            put(kind, sql, column(kind), sql)
    put("year", "SMALLINT", column("year"), "SMALLINT")
    for sql in ("BIGINT", "UINTEGER", "UBIGINT", "DECIMAL(18,0)"):
        put("status", sql, column("status"), sql)
    put("status", "VARCHAR", some("status", lambda it: f"{it:08X}"), "VARCHAR")
    put("status", "BLOB", some("status", as_bytes), "BLOB")
    put("status", "!HUGEINT", column("status"), "HUGEINT")
    put("status", "!DOUBLE", some("status", float), "DOUBLE")
    for kind in ("date", "registered"):
        put(kind, "DATE", column(kind), "DATE")
        for sql in ("TIMESTAMP", "TIMESTAMP_MS", "TIMESTAMP_NS"):
            put(kind, sql, some(kind, moment), sql)
    for kind in ("codes", "earlier"):
        put(kind, "VARCHAR[]", column(kind), "VARCHAR[]")
    db.execute(f"CREATE TABLE t ({', '.join(names)})")
    marks = ", ".join("?" for _ in names)
    db.executemany(f"INSERT INTO t VALUES ({marks})", list(zip(*rows)))
    db.execute(f"COPY t TO '{os.path.join(HERE, 'duckdb.parquet')}' (FORMAT parquet, COMPRESSION zstd)")


def with_spark():
    import glob
    import shutil
    import tempfile

    from pyspark.sql import SparkSession
    from pyspark.sql import types as st

    spark = (SparkSession.builder.master("local[1]").config("spark.sql.session.timeZone", "UTC")
             .config("spark.ui.enabled", "false").config("spark.sql.parquet.compression.codec", "zstd").getOrCreate())
    fields, rows = [], []

    def put(kind, name, values, of):
        fields.append(st.StructField(f"{kind}|{name}", of))
        rows.append(values)

    put("id", "string", column("id"), st.StringType())
    for kind in ("fuel", "make", "catalyst", "exhaust", "result"):
        put(kind, "string", column(kind), st.StringType())
    for kind in ("lamp", "certified"):
        put(kind, "boolean", column(kind), st.BooleanType())
        put(kind, "byte", some(kind, int), st.ByteType())
    for kind in ("year", "odometer", "days"):
        put(kind, "int", column(kind), st.IntegerType())
        put(kind, "long", column(kind), st.LongType())
        put(kind, "double", some(kind, float), st.DoubleType())
        put(kind, "decimal", some(kind, decimal.Decimal), st.DecimalType(10, 0))
        put(kind, "wide decimal", some(kind, decimal.Decimal), st.DecimalType(38, 2))
    put("year", "short", column("year"), st.ShortType())
    put("status", "long", column("status"), st.LongType())
    put("status", "decimal", some("status", decimal.Decimal), st.DecimalType(20, 0))
    put("status", "binary", some("status", as_bytes), st.BinaryType())
    put("status", "string", some("status", lambda it: f"{it:08X}"), st.StringType())
    put("status", "!double", some("status", float), st.DoubleType())
    for kind in ("date", "registered"):
        put(kind, "date", column(kind), st.DateType())
        put(kind, "timestamp", some(kind, lambda it: moment(it).replace(tzinfo=dt.timezone.utc)), st.TimestampType())
        put(kind, "timestamp_ntz", some(kind, moment), st.TimestampNTZType())
    for kind in ("codes", "earlier"):
        put(kind, "array", column(kind), st.ArrayType(st.StringType()))
    frame = spark.createDataFrame(list(zip(*rows)), st.StructType(fields))
    folder = tempfile.mkdtemp()
    frame.coalesce(1).write.mode("overwrite").parquet(folder)
    (part,) = glob.glob(os.path.join(folder, "*.parquet"))
    shutil.copy(part, os.path.join(HERE, "spark.parquet"))
    shutil.rmtree(folder)
    spark.stop()


if __name__ == "__main__":
    with open(os.path.join(HERE, "records.jsonl"), "w", encoding="utf-8") as out:
        out.writelines(line + "\n" for line in snapshots())
    for make in (with_pyarrow, with_pandas, with_polars, with_duckdb, with_spark):
        try:
            make()
        except ImportError as missing:
            print(f"{make.__name__}: {missing}")
