//! How much a height source may ask for. Headers are claims: nothing is allotted on a claim that the
//! bytes at hand cannot bear out.

/// Most cells of one height model (2 GB of single-precision heights).
pub(super) const CELLS_MAX: u64 = 500_000_000;

/// Most bytes of one file, and of all that one archive unpacks to.
pub(super) const BYTES_MAX: u64 = 4 << 30;

/// Most entries of one archive.
pub(super) const ENTRIES_MAX: usize = 20_000;

/// Archives inside archives that are still opened.
pub(super) const ARCHIVE_DEPTH_MAX: usize = 2;

/// An archive may always unpack to this many bytes, whatever its own size.
pub(super) const UNPACKED_ALWAYS: u64 = 64 << 20;

/// Beyond [`UNPACKED_ALWAYS`], unpacked bytes allowed for each packed byte.
pub(super) const UNPACKED_RATIO_MAX: u64 = 250;

/// Deflate cannot pack better than about 1032 to 1; other schemes a raster may use are worse.
pub(super) const RASTER_RATIO_MAX: u64 = 1100;

/// A raster may leave out empty tiles, so this many bytes are believed without a body.
pub(super) const RASTER_ALWAYS: u64 = 64 << 20;

/// Cells of a mosaic or lattice for each cell that has a height, beyond [`SPARSE_ALWAYS`].
pub(super) const SPARSE_RATIO_MAX: u64 = 64;

/// A mosaic or lattice may always have this many cells.
pub(super) const SPARSE_ALWAYS: u64 = 4_000_000;
