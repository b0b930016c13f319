"""Writes small workbooks with libraries that know nothing of our reader, and beside each what the library was told to
store. Run in an environment with: openpyxl 3.1.5, XlsxWriter 3.3.1, odfpy 1.4.1, pyexcel-ods3 0.6.1, xlwt 1.3.0,
msoffcrypto-tool. The plans are invented.

Columns of *.expected.csv: sheet, cell, kind, value, rows and columns of a merged block.
"""

import csv
import datetime
import io

HEAD = ["sheet", "cell", "kind", "value", "rows", "cols"]


class Expected:
    def __init__(self):
        self.rows = []

    def add(self, sheet, cell, kind, value, rows=1, cols=1):
        self.rows.append([sheet, cell, kind, value, rows, cols])

    def save(self, name):
        with open(name + ".expected.csv", "w", newline="", encoding="utf-8") as out:
            writer = csv.writer(out, lineterminator="\n")
            writer.writerow(HEAD)
            writer.writerows(self.rows)


def with_openpyxl(name, epoch_1904):
    from openpyxl import Workbook
    from openpyxl.cell.rich_text import CellRichText, TextBlock
    from openpyxl.cell.text import InlineFont
    from openpyxl.comments import Comment
    from openpyxl.utils.datetime import CALENDAR_MAC_1904

    book, e = Workbook(), Expected()
    if epoch_1904:
        book.epoch = CALENDAR_MAC_1904
    s = book.active
    s.title = "Woche 1 & 2"

    def put(cell, value, kind, read, fmt=None, rows=1, cols=1):
        s[cell] = value
        if fmt:
            s[cell].number_format = fmt
        if kind:
            e.add(s.title, cell, kind, read, rows, cols)

    put("A1", "Mon <A>", "text", "Mon <A>", rows=3)
    s.merge_cells("A1:A3")
    put("B1", "Kniebeuge  tief ", "text", "Kniebeuge  tief ")
    put("C1", 3, "number", 3)
    put("D1", datetime.date(2026, 10, 8), "date", "2026-10-08", "d-mmm")
    put("E1", 0.75, "text", "75%", "0%")
    put("F1", 82.5, "text", "82.5 kg", '0.0" kg"')
    put("B2", "3x8@2\nslow", "text", "3x8@2\nslow")
    put("C2", True, "bool", "true")
    put("D2", datetime.datetime(2026, 11, 2, 18, 30), "date", "2026-11-02T18:30:00")
    put("E2", datetime.time(1, 30), "date", "01:30:00")
    put("F2", datetime.timedelta(hours=26, minutes=15), "date", "26:15:00", "[h]:mm:ss")
    put("C3", "=C1+1", None, None)  # no stored result
    put("D3", "=SUM", "text", "=SUM")
    s["D3"].data_type = "s"
    put("E3", 1.5e-7, "number", 1.5e-7, "0.00E+00")
    rich = CellRichText("bench ", TextBlock(InlineFont(b=True), "paused"), " 2 s")
    put("B3", rich, "text", "bench paused 2 s")
    put("B6", "Week total", "text", "Week total", cols=3)
    s.merge_cells("B6:D6")
    s["A6"].comment = Comment("knee felt odd", "coach")
    s.row_dimensions[2].hidden = True
    hidden = book.create_sheet("old")
    hidden["A1"] = "secret"
    hidden.sheet_state = "hidden"
    last = book.create_sheet("Tag 2")
    last["B2"] = "Rudern"
    e.add("Tag 2", "B2", "text", "Rudern")
    book.save(name + ".xlsx")
    e.save(name)


def with_xlsxwriter(name, inline_strings):
    import xlsxwriter

    book, e = xlsxwriter.Workbook(name + ".xlsx", {"constant_memory": inline_strings}), Expected()
    s = book.add_worksheet("Plan")
    bold, short = book.add_format({"bold": True}), book.add_format({"num_format": "d-mmm"})
    day = book.add_format({"num_format": 14})
    words = book.add_format({"num_format": '"RIR "0'})
    s.write_string(0, 0, "Übung")
    e.add("Plan", "A1", "text", "Übung")
    s.write_rich_string(0, 1, "top set ", bold, "heavy")
    e.add("Plan", "B1", "text", "top set heavy")
    s.write_formula(0, 2, "=2*4", None, 8)
    e.add("Plan", "C1", "number", 8)
    s.write_formula(0, 3, '="3x"&8', None, "3x8")
    e.add("Plan", "D1", "text", "3x8")
    s.write_formula(0, 4, "=1/0", None, "#DIV/0!")
    e.add("Plan", "E1", "error", "#DIV/0!")
    s.write_datetime(1, 0, datetime.datetime(2026, 10, 8), short)
    e.add("Plan", "A2", "date", "2026-10-08")
    s.write_datetime(1, 1, datetime.datetime(1900, 1, 15), day)
    e.add("Plan", "B2", "date", "1900-01-15")
    s.write_datetime(1, 2, datetime.datetime(2000, 2, 29), day)
    e.add("Plan", "C2", "date", "2000-02-29")
    s.write_number(1, 3, 2, words)
    e.add("Plan", "D2", "text", "RIR 2")
    s.write_string(1, 4, "a\x01b _x000D_ c")
    e.add("Plan", "E2", "text", "a\x01b _x000D_ c")
    s.write_boolean(2, 0, False)
    e.add("Plan", "A3", "bool", "false")
    s.write_blank(2, 1, None, bold)
    s.write_number(2, 2, -1234567.25)
    e.add("Plan", "C3", "number", -1234567.25)
    if not inline_strings:
        s.merge_range(4, 0, 6, 1, "Tuesday", bold)
        e.add("Plan", "A5", "text", "Tuesday", 3, 2)
        chart = book.add_chartsheet("Graph")
        drawn = book.add_chart({"type": "line"})
        drawn.add_series({"values": "=Plan!$C$1:$C$2"})
        chart.set_chart(drawn)
    s.write_string(1048575, 16383, "far away")
    book.close()
    e.save(name)


def with_odfpy(name):
    from odf import dc, office, style, table, text
    from odf.opendocument import OpenDocumentSpreadsheet

    book, e = OpenDocumentSpreadsheet(), Expected()
    hide = style.Style(name="hide", family="table")
    hide.addElement(style.TableProperties(display="false"))
    book.automaticstyles.addElement(hide)

    def cell(shown=None, **attributes):
        c = table.TableCell(**attributes)
        for line in [] if shown is None else shown.split("\n"):
            c.addElement(text.P(text=line))
        return c

    def row(*cells, **attributes):
        r = table.TableRow(**attributes)
        for c in cells:
            r.addElement(c)
        return r

    t = table.Table(name="Plan")
    t.addElement(table.TableColumn(numbercolumnsrepeated=7))
    covered = table.CoveredTableCell()
    t.addElement(
        row(
            cell("Mon", valuetype="string", numberrowsspanned=2, numbercolumnsspanned=1),
            cell("Kniebeuge", valuetype="string"),
            cell("3", valuetype="float", value=3),
            cell("75%", valuetype="percentage", value=0.75),
            cell("82,5 kg", valuetype="float", value=82.5),
            cell("8. Okt", valuetype="date", datevalue="2026-10-08"),
            cell("01:30:00", valuetype="time", timevalue="PT01H30M00S"),
        )
    )
    e.add("Plan", "A1", "text", "Mon", 2, 1)
    e.add("Plan", "B1", "text", "Kniebeuge")
    e.add("Plan", "C1", "number", 3)
    e.add("Plan", "D1", "text", "75%")
    e.add("Plan", "E1", "text", "82,5 kg")
    e.add("Plan", "F1", "date", "2026-10-08")
    e.add("Plan", "G1", "date", "01:30:00")
    spaced = table.TableCell(valuetype="string")
    p = text.P(text="top")
    p.addElement(text.S(c=3))
    p.addElement(text.Span(text="set"))
    p.addElement(text.Tab())
    p.addText("8")
    spaced.addElement(p)
    annotated = table.TableCell(valuetype="string")
    note = office.Annotation()
    note.addElement(dc.Date())
    note.addElement(text.P(text="knee felt odd"))
    annotated.addElement(note)
    annotated.addElement(text.P(text="row & pull"))
    t.addElement(
        row(
            covered,
            cell("3x8\nslow", valuetype="string"),
            spaced,
            annotated,
            cell("TRUE", valuetype="boolean", booleanvalue="true"),
            cell("x", valuetype="string", numbercolumnsrepeated=2),
        )
    )
    e.add("Plan", "B2", "text", "3x8\nslow")
    e.add("Plan", "C2", "text", "top   set\t8")
    e.add("Plan", "D2", "text", "row & pull")
    e.add("Plan", "E2", "bool", "true")
    e.add("Plan", "F2", "text", "x")
    e.add("Plan", "G2", "text", "x")
    t.addElement(row(cell(numbercolumnsrepeated=16384), numberrowsrepeated=3))
    t.addElement(row(cell("rest", valuetype="string"), numberrowsrepeated=2))
    e.add("Plan", "A6", "text", "rest")
    e.add("Plan", "A7", "text", "rest")
    t.addElement(row(cell(numbercolumnsrepeated=16384), numberrowsrepeated=1048569))
    book.spreadsheet.addElement(t)
    old = table.Table(name="old", stylename=hide)
    old.addElement(row(cell("secret", valuetype="string")))
    book.spreadsheet.addElement(old)
    book.save(name + ".ods")
    e.save(name)


def with_pyexcel(name):
    from pyexcel_ods3 import save_data

    e = Expected()
    save_data(
        name + ".ods",
        {"Tag 1": [["Übung", "Sätze"], ["Rudern", 3], ["", 2.5], [datetime.date(2026, 11, 2), True]], "Tag 2": [["x"]]},
    )
    for cell, kind, value in [
        ("A1", "text", "Übung"),
        ("B1", "text", "Sätze"),
        ("A2", "text", "Rudern"),
        ("B2", "number", 3),
        ("B3", "number", 2.5),
        ("A4", "date", "2026-11-02"),
        ("B4", "bool", "true"),
    ]:
        e.add("Tag 1", cell, kind, value)
    e.add("Tag 2", "A1", "text", "x")
    e.save(name)


def with_csv(name, encoding, delimiter, dialect):
    e = Expected()
    rows = [
        ["Übung", "Sätze", "Last"],
        ["Kniebeuge", "3", "82,5"],
        ['Rudern "eng"', "3x8\nslow", "a;b"],
        ["", "", "=1+1"],
    ]
    out = io.StringIO(newline="")
    csv.writer(out, dialect, delimiter=delimiter).writerows(rows)
    with open(name + ".csv", "wb") as f:
        f.write(out.getvalue().encode(encoding))
    for r, row in enumerate(rows):
        for c, value in enumerate(row):
            if value:
                e.add(name, "ABC"[c] + str(r + 1), "text", value)
    e.save(name)


def refused():
    import msoffcrypto.format.ooxml
    import xlwt

    book = xlwt.Workbook()
    book.add_sheet("Plan").write(0, 0, "Squat")
    book.save("xlwt.xls")
    with open("pyexcel_small.xlsx.tmp", "wb+") as plain, open("encrypted.xlsx", "wb") as out:
        from openpyxl import Workbook

        small = Workbook()
        small.active["A1"] = "Squat"
        small.save(plain)
        plain.seek(0)
        msoffcrypto.format.ooxml.OOXMLFile(plain).encrypt("secret", out)
    import os

    os.remove("pyexcel_small.xlsx.tmp")


with_openpyxl("openpyxl_1900", False)
with_openpyxl("openpyxl_1904", True)
with_xlsxwriter("xlsxwriter_shared", False)
with_xlsxwriter("xlsxwriter_inline", True)
with_odfpy("odfpy")
with_pyexcel("pyexcel_ods3")
with_csv("python_utf8_comma", "utf-8", ",", "excel")
with_csv("python_utf8_mark_semicolon", "utf-8-sig", ";", "excel")
with_csv("python_utf16_tab", "utf-16", "\t", "excel-tab")
with_csv("python_utf16_be_tab", "utf-16-be", "\t", "excel-tab")
with_csv("python_1252_semicolon", "cp1252", ";", "unix")
refused()
