"""Paper output: sheets for the plant, the crew, the customer and the file.

`make` returns whole PDF files, `files` writes them to disk. All sheets share one house style (`style`),
on a `leaf.Leaf` with pages, columns and blanks; only `ink` uses the PDF library.
"""
