//! How much of a file is accepted. Own estimates: some ten times the largest plans and logs coaches keep, and low
//! enough that the worst accepted file stays under 500 MB of memory (measured in tests/hostile.rs).

/// Whole file as it arrives, packed.
pub const MAX_FILE_BYTES: u64 = 60_000_000;
/// A plain text table.
pub const MAX_TEXT_FILE_BYTES: u64 = 40_000_000;
/// Entries of the zip archive.
pub const MAX_PARTS: u64 = 2_000;
/// One unpacked part (a sheet, the shared texts).
pub const MAX_PART_BYTES: u64 = 40_000_000;
/// All parts that are unpacked, together.
pub const MAX_TOTAL_BYTES: u64 = 100_000_000;
/// Unpacked over packed size. Real sheets stay below about 100; only parts above `RATIO_FROM_BYTES` are judged.
pub const MAX_RATIO: u64 = 250;
pub const RATIO_FROM_BYTES: u64 = 5_000_000;
/// Rows and columns kept per sheet; what lies beyond is counted and reported.
pub const MAX_ROWS: usize = 20_000;
pub const MAX_COLS: usize = 200;
/// Cells and row heads allocated over all sheets, gaps between filled cells included.
pub const MAX_CELLS: usize = 2_000_000;
/// Text of all cells.
pub const MAX_TEXT_BYTES: usize = 64_000_000;
/// Characters of one cell; spreadsheet programs allow no more.
pub const MAX_CELL_CHARS: usize = 32_767;
/// Merged blocks looked at per sheet.
pub const MAX_MERGES: usize = 50_000;
