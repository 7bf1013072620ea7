"""How large an uploaded file may be, and the mend for one that asks too much.

Here so that both are known before a heavy library is loaded.
"""

# A table of 5,000 rows by 60 columns is a file of 1 to 10 MB; pictures in a workbook make the rest.
# Common practice, no source.
MOST_FILE_BYTES = 100_000_000

COPY_TABLES_ALONE = "copy the tables alone into a new workbook, without pictures, and send that"
FILE_TOO_LARGE = f"the file is larger than {MOST_FILE_BYTES // 1_000_000} MB; {COPY_TABLES_ALONE}"
