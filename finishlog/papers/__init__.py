"""What leaves the shop on paper: sheets for the plant, the crew, the customer and the file.

`make` answers whole PDF files, `files` puts them on disk. All sheets are drawn in one house style
(`style`), on a `leaf.Leaf` that knows pages, columns and blanks; `ink` alone knows the PDF library.
"""
