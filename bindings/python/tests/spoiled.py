"""Invented records of which some cannot be judged: what no invention makes, files of the world have."""

import pyarrow as pa
import pyarrow.compute as pc
import pyarrow.parquet as pq


def spoil(given, made):
    """Writes the Parquet file again: of every 97th record the model year is none, of every 113th the fuel is a word that
    the mapping does not know, and every 131st has no date."""
    source = pq.ParquetFile(given)
    first = 0
    with pq.ParquetWriter(made, source.schema_arrow) as out:
        for batch in source.iter_batches():
            place = pa.array(range(first, first + len(batch)))
            first += len(batch)

            def each(step):
                return pc.equal(pc.subtract(place, pc.multiply(pc.divide(place, step), step)), step - 1)

            spoiled = {}
            for name, step, value in [("model_year", 97, 1801), ("fuel", 113, "Q"), ("test_date", 131, None)]:
                column = batch.column(name)
                spoiled[name] = pc.if_else(each(step), pa.scalar(value, column.type), column)
            columns = [spoiled.get(name, batch.column(name)) for name in batch.schema.names]
            out.write_batch(pa.RecordBatch.from_arrays(columns, schema=batch.schema))
