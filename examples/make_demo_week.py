"""An invented week in the hand of a coach who keeps plans in a spreadsheet; writes demo-week.xlsx beside this file.

Run with `python3 make_demo_week.py` (needs openpyxl). Nothing of it is a real client's plan.
"""
import os

import openpyxl
from openpyxl.styles import Font

HEAD = ("Exercise", "Sets", "Reps", "RIR", "Load", "Rest", "Notes")
DAYS = [
    ("Monday: lower", [
        ("Bike", None, "5 min", None, None, None, "warm-up"),
        ("Back squat", 4, "6-8", 2, "62.5 kg", "3 min", "down to parallel"),
        ("Romanian deadlift", 3, "8-10", 2, "60 kg", "3 min", None),
        ("Leg extension", 3, "12-15", 1, "pin 9", "90 s", None),
        ("Standing calf raise", 3, "10-12", 1, "80 kg", "90 s", None),
    ]),
    ("Tuesday: upper", [
        ("Bench press", 3, "6-8", 2, "42.5 kg", "3 min", None),
        ("Lat pull-down", 3, "8-12", 2, "45 kg", "2 min", None),
        ("Seated cable row", 3, "10-12", 2, "40 kg", "2 min", None),
        ("DB lateral raise", 3, "12-15", 1, "7 kg", "90 s", "each hand"),
        ("Push-down", 3, "12-15", 1, "22,5 kg", "90 s", None),
    ]),
    ("Thursday: lower", [
        ("Hip thrust", 4, "8-10", 2, "90 kg", "3 min", None),
        ("Bulgarian split squat", 3, "8-10", 2, "2 x 12 kg", "2 min", "each side"),
        ("Leg press", 3, "10-12", 2, "140 kg", "3 min", None),
        ("Dead bug", 3, "8 each side", None, "bw", "60 s", None),
    ]),
    ("Friday: upper", [
        ("Overhead press", 3, "6-8", 2, "27.5 kg", "3 min", None),
        ("Pull-up", 3, "AMRAP", None, "bw", "3 min", None),
        ("Incline DB press", 3, "8-12", 2, "2 x 16 kg", "2 min", None),
        ("Barbell curl", 3, "10-12", 1, "22.5 kg", "90 s", None),
        ("Overhead cable extension", 2, "12-15", 1, "17,5 kg", "90 s", None),
    ]),
]


def main():
    book = openpyxl.Workbook()
    sheet = book.active
    sheet.title = "Week"
    bold = Font(bold=True)
    sheet.append(("Demo client A (invented), four days",))
    sheet["A1"].font = Font(bold=True, size=14)
    sheet.append(())
    for day, rows in DAYS:
        sheet.append((day,))
        sheet.cell(sheet.max_row, 1).font = bold
        sheet.merge_cells(start_row=sheet.max_row, start_column=1, end_row=sheet.max_row, end_column=len(HEAD))
        sheet.append(HEAD)
        for cell in sheet[sheet.max_row]:
            cell.font = bold
        for row in rows:
            sheet.append(row)
        sheet.append((None,))
    for column, width in zip("ABCDEFG", (28, 6, 12, 6, 12, 8, 20)):
        sheet.column_dimensions[column].width = width
    book.save(os.path.join(os.path.dirname(os.path.abspath(__file__)), "demo-week.xlsx"))


if __name__ == "__main__":
    main()
