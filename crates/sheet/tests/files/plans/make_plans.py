"""Five invented training plans in five coaches' hands, with the expected fate of every cell.

The plans and their expectations were written before the reader and are not changed to please it. Run with
`python3 make_plans.py` (needs openpyxl); it writes one workbook or csv per plan and NAME.expected.csv beside it.

Expectation of a cell (second item of a pair):
  part            feeds the entry of its row          head / day / week   names columns, a day, a week
  name            exercise name shared by several weeks' entries          client  field of the client sheet
  anything else   an entry: "movement; sets; reps; key value …; status", blank movement = none matched.
"""
import csv
import datetime
import os

import openpyxl
from openpyxl.utils import get_column_letter as letter

HERE = os.path.dirname(os.path.abspath(__file__))
P, H, D, W, N, C, I = "part", "head", "day", "week", "name", "client", "ignored"


def parts(*values):
    return [(v, P) if v is not None else None for v in values]


def heads(*values):
    return [(v, H) if v is not None else None for v in values]


class Plan:
    def __init__(self, name):
        self.name, self.sheets, self.merges = name, [], []

    def sheet(self, title, rows, merges=()):
        self.sheets.append((title, rows))
        self.merges.append(merges)
        return self

    def save(self, as_csv=False):
        if as_csv:
            with open(os.path.join(HERE, self.name + ".csv"), "w", encoding="utf-8", newline="") as f:
                for row in self.sheets[0][1]:
                    f.write(";".join("" if c is None else str(c[0]) for c in row) + "\n")
        else:
            book = openpyxl.Workbook()
            book.remove(book.active)
            for (title, rows), merges in zip(self.sheets, self.merges):
                ws = book.create_sheet(title)
                for r, row in enumerate(rows, 1):
                    for c, cell in enumerate(row, 1):
                        if cell is not None:
                            ws.cell(r, c, cell[0])
                for m in merges:
                    ws.merge_cells(m)
            book.save(os.path.join(HERE, self.name + ".xlsx"))
        with open(os.path.join(HERE, self.name + ".expected.csv"), "w", encoding="utf-8", newline="") as f:
            out = csv.writer(f, lineterminator="\n")
            out.writerow(["sheet", "cell", "text", "expected"])
            for title, rows in self.sheets:
                for r, row in enumerate(rows, 1):
                    for c, cell in enumerate(row, 1):
                        if cell is not None:
                            out.writerow([title, f"{letter(c)}{r}", cell[0], cell[1]])


DAY1, DAY2 = "day DAY 1 - LOWER (Mon)", "day Day 2: Upper"
Plan("stacked_days").sheet("Program", [
    [("Hypertrophy block - Marta (invented)", I)],
    [("RIR = reps left in the tank, BB = barbell, DB = dumbbell", I)],
    [],
    [("DAY 1 - LOWER (Mon)", D)],
    heads("Exercise", "Sets", "Reps", "RIR", "Load (kg)", "Rest", "Notes"),
    [("Warm-up: bike 5 min", I)],
    [("Back Squat", f"back-squat; 3; 6-8; rir 2; load 82.5 kg; rest 180; {DAY1}; certain")]
    + parts(3, "6-8", 2, "82,5", "3 min", "depth to parallel"),
    [("RDL", f"romanian-deadlift; 3; 8-10; rir 2; load 90 kg; rest 150; {DAY1}; assumed")]
    + parts(3, datetime.date(2026, 10, 8), 2, 90, "2-3 min"),
    [("Leg press (high foot)", f"leg-press-high-foot; 2-3; 10-12; rir 1; load 160 kg; rest 120; {DAY1}; certain")]
    + parts("2-3", "10-12", 1, 160, "2'"),
    [("Seated leg curl", f"seated-leg-curl; 3; 8-12; rir 0.5; load 45 kg; rest 90; {DAY1}; assumed")]
    + parts(3, "12/10/8", "0-1", 45, "90s"),
    [("SCR", f"standing-calf-raise; 4; 12; rir 1; {DAY1}; assumed")] + parts(4, 12, 1),
    [("Total sets", I), (15, P)],
    [],
    [("Day 2: Upper", D)],
    heads("Exercise", "Sets", "Reps", "RIR", "Load (kg)", "Rest", "Notes"),
    [("DB Bench press", f"dumbbell-bench-press; 3; 8-10; rir 2; load 24 kg; rest 120; {DAY2}; assumed")]
    + parts(3, "8-10", 2, "24 p/h", "2min", "no pain this week"),
    [("Lat pulldwn", f"lat-pull-down; 3; 10; rir 2; load 110 lb; {DAY2}; assumed")] + parts(3, 10, 2, "110 lb")
    + [None, ("left elbow aches on the last set", P)],
    [("Seated cable row", f"seated-cable-row; 3; 10-12; rir 1; load 52.5 kg; {DAY2}; certain")]
    + parts(3, "10-12", 1, 52.5),
    [("Laterals", f"dumbbell-lateral-raise; 4; 15-20; rir 0; load 8 kg; rest 60; {DAY2}; certain")]
    + parts(4, "15-20", 0, 8, "1:00"),
    [("Superset: EZ curl + rope pushdown", f"; 3; 12; rir 1; {DAY2}; unknown")] + parts(3, 12, 1),
    [("Wobbleboard chaos drill", f"; 3; 10; {DAY2}; unknown")] + parts(3, 10),
    [],
    [("REST DAY", I)],
    [("Sunday: 10k steps", I)],
], ["A1:G1", "A4:G4", "A14:G14"]).save()

MO, TU, TH, FR = "day Monday", "day Tuesday", "day Thursday", "day Friday"
Plan("days_as_columns").sheet("Week", [
    [("Tom (invented), 4 day split, loads in kg", I)],
    [None, ("Monday", D), ("Tuesday", D), ("Thursday", D), ("Friday", D)],
    [("Focus", I), ("Push", I), ("Pull", I), ("Legs", I), ("Arms", I)],
    [(1, H), ("BB bench 4x6 @8", f"bench-press; 4; 6; rir 2; {MO}; assumed"),
     ("Pull-ups 3xAMRAP BW+10", f"pull-up; 3; ; rir 0; load 10 bw; {TU}; assumed"),
     ("Hack squat 3x8-10 RIR2 (rest 2min)", f"hack-squat; 3; 8-10; rir 2; rest 120; {TH}; certain"),
     ("EZ curl 3x10", f"ez-bar-curl; 3; 10; {FR}; certain")],
    [(2, H), ("Incline DB press 30° 3x8-10 @2",
              f"dumbbell-incline-press; 3; 8-10; rir 2; set bench_deg=30; {MO}; assumed"),
     ("Chest supported row 3 x 10, 30 kg", f"chest-supported-dumbbell-row; 3; 10; load 30 kg; {TU}; certain"),
     ("SL lying leg curl 3x12 e/s", f"single-leg-curl-lying; 3; 12; each_side; {TH}; certain"),
     ("OHTE 3x12-15", f"cable-overhead-extension; 3; 12-15; {FR}; certain")],
    [(3, H), ("Cable lat raise 4x15 e/s", f"cable-lateral-raise; 4; 15; each_side; {MO}; certain"),
     ("Face pull 2-3x15-20", f"face-pull; 2-3; 15-20; {TU}; certain"),
     ("Walking lunge 2x20m", f"walking-lunge; 2; 20 m; {TH}; certain"),
     ("Preacher curl machine 2x10 + drop set", f"preacher-curl-machine; 2.5; 10; {FR}; assumed")],
    [(4, H), ("Weighted dip 3x8+", f"dip; 3; 8; {MO}; assumed"),
     ("curl 3x10", f"dumbbell-curl; 3; 10; {TU}; assumed"),
     ("Plank 3x30s", f"front-plank; 3; 30 s; {TH}; certain"),
     ("Machine dip 1x12 rest-pause", f"machine-dip; 1.5; 12; {FR}; assumed")],
    [None, ("cardio 20 min", I), ("-", I), ("calf raise 4x12", f"standing-calf-raise; 4; 12; {TH}; assumed")],
], ["A1:E1"]).save()

U, L = "day Day 1 – Upper", "day Day 2 – Lower"
weeks = [("Week 1", W), ("Week 2", W), ("Week 3", W), ("Wk 4 (deload)", W)]


def over(movement, day, *cells):
    """One pair (text, expectation) per week; `None` where the week leaves the exercise out."""
    return [(t, f"{movement}; {e}; week {w}; {day}") if t is not None else None
            for w, (t, e) in enumerate(cells, 1)]


Plan("weeks_as_columns").sheet("Block 2", [
    [("Block 2 / 4 weeks / add load when top of range", I)],
    [("Day 1 – Upper", D)],
    [("#", H), ("Exercise", H)] + weeks,
    [("A1", P), ("Incline barbell press", N)] + over(
        "incline-bench-press", f"{U}; pair A1; assumed", ("3x8 @3", "3; 8; rir 3"), ("3x8 @2", "3; 8; rir 2"),
        ("4x8 @1", "4; 8; rir 1"), ("2x8 @4", "2; 8; rir 4")),
    [("A2", P), ("T-bar row", N)] + over(
        "t-bar-row", f"{U}; pair A2; certain", ("3x10 RIR 3", "3; 10; rir 3"), ("3x10 RIR 2", "3; 10; rir 2"),
        ("4x10 RIR 1", "4; 10; rir 1"), ("2x10 RIR 4", "2; 10; rir 4")),
    [("B", P), ("Cable fly", N)] + over(
        "cable-fly", f"{U}; pair B; certain", ("3x12 RPE 8", "3; 12; rir 2"), ("3x12 RPE 9", "3; 12; rir 1"),
        ("3x12 RPE 10", "3; 12; rir 0"), (None, "")),
    [("C", P), ("Skull crushers", N)] + over(
        "lying-extension", f"{U}; pair C; certain", ("12, 10, 8", "3; 8-12"), ("12, 10, 8", "3; 8-12"),
        ("12, 10, 8, 8", "4; 8-12"), ("2x12", "2; 12")),
    [],
    [("Day 2 – Lower", D)],
    [("#", H), ("Exercise", H)] + weeks,
    [("A", P), ("Front squat", N)] + over(
        "front-squat", f"{L}; pair A; certain", ("1x5 top set + 2x8 back-off", "3; 5-8"),
        ("top set of 5 + 2 back-offs", "3; 5"), ("5/4/3/2/1", "5; 1-5"), ("3x5 @70%", "3; 5; load 70 %1RM")),
    [("B", P), ("Nordic curl", N)] + over(
        "nordic-curl", f"{L}; pair B; certain", ("3x5 tempo 4010", "3; 5; tempo 4-0-1-0"),
        ("3x5 4-0-1-0", "3; 5; tempo 4-0-1-0"), ("3x6", "3; 6"), ("2x5", "2; 5")),
    [("C", P), ("Copenhagen plank", N)] + over(
        "copenhagen-plank", f"{L}; pair C; each_side; certain", ("2x20s/side", "2; 20 s"),
        ("2x25s/side", "2; 25 s"), ("3x25s/side", "3; 25 s"), ("2x20s/side", "2; 20 s")),
]).sheet("Day 3", [
    [None, ("Week 1", W), None, None, ("Week 2", W)],
    heads("Lift", "Sets", "Reps", "RIR", "Sets", "Reps", "RIR"),
    [("Sumo deadlift", N), (3, "sumo-deadlift; 3; 5; rir 3; week 1; day Day 3; certain")] + parts(5, 3)
    + [(4, "sumo-deadlift; 4; 5; rir 2; week 2; day Day 3; certain")] + parts(5, 2),
    [("Leg ext", N), (2, "leg-extension; 2; 12-15; rir 1; week 1; day Day 3; certain")] + parts("12-15", 1)
    + [(3, "leg-extension; 3; 12-15; rir 1; week 2; day Day 3; certain")] + parts("12-15", 1),
], ["B1:D1", "E1:G1"]).save()

PUSH, PULL, LEGS = "day Push day", "day Pull", "day Legs"
Plan("sheet_per_day").sheet("Client", [
    [("Name", C), ("Jo Example (invented)", C)],
    [("Sex", C), ("f", C)],
    [("Height", C), ("168 cm", C)],
    [("Body mass", C), ("64,5 kg", C)],
    [("Training age", C), ("3 years", C)],
    [("Injuries", C), ("old shoulder tweak, left", C)],
    [("Days per week", C), (3, C)],
]).sheet("Push", [
    [("Push day", D)],
    [],
    heads("Movement", "Prescription", "RPE", "Tempo", "Comments"),
    [("Smith incline press", f"smith-incline-press; 3; 8-10; rir 1.5; tempo 3-0-1-0; {PUSH}; assumed")]
    + parts("3x8-10", "8-9", "3010"),
    [("Machine chest press", f"machine-chest-press; 2; 12; rir 1; tempo 2-1-1-0; {PUSH}; certain")]
    + parts("2 x 12", 9, 2110, "shoulder hurts a bit at the bottom"),
    [("Rope overhead extension", f"cable-overhead-extension; 3; 12; rir 1; tempo 3-0-X-0; {PUSH}; certain")]
    + parts("3 sets of 12", 9, "30X0"),
    [("SA pushdown", f"one-arm-push-down; 2; 15; rir 0; each_side; {PUSH}; certain")]
    + parts("2x15 /side", 10, None, "pain free now"),
]).sheet("Pull", [
    heads("Exercise", "Set", "Rep", "Intensity", "Weight"),
    [("Weighted chin-up", f"chin-up; 3; 5; rir 1; load 10 bw; {PULL}; certain")] + parts(3, 5, "RIR 1", "BW+10 kg"),
    [("SA pulldown", f"one-arm-pull-down; 3; 10; rir 1; load 7 pin; {PULL}; assumed")]
    + parts(3, 10, "RIR 1", "pin 7"),
    [("Meadows row", f"landmine-one-arm-row; 3; 10; rir 2; load 30 kg; {PULL}; assumed")] + parts(3, 10, "RIR 2", 30),
    [("Straight arm pulldown", f"straight-arm-pull-down; 2; ; rir 0; load 25 kg; {PULL}; certain")]
    + parts(2, "AMRAP", None, "25kg"),
]).sheet("Legs", [
    [("Leg ext 3x15 RIR 1", f"leg-extension; 3; 15; rir 1; {LEGS}; certain")],
    [("Belt squat 3x10-12 RIR 2", f"belt-squat; 3; 10-12; rir 2; {LEGS}; certain")],
    [("Hip thrusts 3 x 8 @ 100kg", f"hip-thrust; 3; 8; load 100 kg; {LEGS}; certain")],
    [("Foam rolling 10 min", I)],
]).save()

A, B = "day Day A", "day Day B"
Plan("percent_semicolon").sheet("percent_semicolon", [
    heads("Day", "Exercise", "Sets x Reps", "%1RM", "Weight", "Tempo", "Remarks"),
    [("Day A", D), ("Deadlift", f"conventional-deadlift; 4; 3-5; load 85 %1RM; {A}; assumed"), ("1x3, 3x5", P),
     ("85%", P)],
    [None, ("Block pull", f"block-pull; 3; 5; load 140 kg; {A}; certain"), ("3x5", P), ("80%", P), ("140 kg", P)],
    [None, ("Bulgarians", f"rear-foot-raised-split-squat; 3; 10; load 16 kg; each_side; {A}; assumed"),
     ("3x10 each leg", P), None, ("2x16 kg", P)],
    [None, ("Leg curl", f"seated-leg-curl; 3; 12; tempo 3-1-1-0; {A}; assumed"), ("3x12", P), None, None,
     ("3-1-1-0", P)],
    [None, ("Ab wheel", f"ab-wheel; 3; 10; load 0 bw; {A}; certain"), ("3x10", P), None, ("BW", P)],
    [],
    [("Day B", D), ("Push press", f"push-press; 5; 3; load 70 %1RM; {B}; certain"), ("5x3", P), ("70 %", P), None,
     None, ("explosive", P)],
    [None, ("CGBP", f"close-grip-bench-press; 4; 6; load 72.5 kg; {B}; assumed"), ("4x6", P), None, ("72,5", P)],
    [None, ("Chin-ups", f"chin-up; 3; ; rir 0; {B}; certain"), ("3xAMRAP", P), None, None, None,
     ("to failure", P)],
    [None, ("Pec deck", f"pec-deck; 4; 12; {B}; assumed"), ("3x12 + 2 drops", P)],
    [None, ("Farmers walk", f"farmer-carry; 3; 40 m; load 32 kg; {B}; assumed"), ("3x40m", P), None,
     ("32 kg p/h", P)],
    [None, ("Total", I), (25, P)],
]).save(as_csv=True)
