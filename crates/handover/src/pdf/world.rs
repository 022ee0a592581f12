//! The closed world the page engine works in: the files handed to it, the faces it carries, a fixed day. It reaches
//! neither disk nor network nor clock, so that the same pages give the same bytes.

use std::collections::HashMap;

use chrono::{Datelike, NaiveDate};
use typst::diag::{FileError, FileResult};
use typst::foundations::{Bytes, Datetime, Duration};
use typst::syntax::{FileId, RootedPath, Source, VirtualPath, VirtualRoot};
use typst::text::{Font, FontBook};
use typst::utils::LazyHash;
use typst::{Library, LibraryExt, World};
use typst_kit::fonts::FontStore;

/// The files of one document, its faces and its day.
pub struct Closed {
    library: LazyHash<Library>,
    fonts: FontStore,
    main: Source,
    files: HashMap<FileId, Bytes>,
    today: NaiveDate,
}

fn id(name: &str) -> Option<FileId> {
    Some(RootedPath::new(VirtualRoot::Project, VirtualPath::new(name).ok()?).intern())
}

impl Closed {
    /// A world whose document is `main`, with files it may read by name. `None` for a name that is no path.
    pub fn new(main: &str, files: Vec<(String, Vec<u8>)>, today: NaiveDate) -> Option<Self> {
        let mut fonts = FontStore::new();
        fonts.extend(typst_kit::fonts::embedded());
        let main = Source::new(id("/main.typ")?, main.to_owned());
        let mut held = HashMap::new();
        for (name, bytes) in files {
            held.insert(id(&format!("/{name}"))?, Bytes::new(bytes));
        }
        Some(Self { library: LazyHash::new(Library::default()), fonts, main, files: held, today })
    }
}

impl World for Closed {
    fn library(&self) -> &LazyHash<Library> {
        &self.library
    }

    fn book(&self) -> &LazyHash<FontBook> {
        self.fonts.book()
    }

    fn main(&self) -> FileId {
        self.main.id()
    }

    fn source(&self, id: FileId) -> FileResult<Source> {
        if id == self.main.id() { Ok(self.main.clone()) } else { Err(missing(id)) }
    }

    fn file(&self, id: FileId) -> FileResult<Bytes> {
        self.files.get(&id).cloned().ok_or_else(|| missing(id))
    }

    fn font(&self, index: usize) -> Option<Font> {
        self.fonts.font(index)
    }

    fn today(&self, _offset: Option<Duration>) -> Option<Datetime> {
        let part = |value: u32| u8::try_from(value).ok();
        Datetime::from_ymd(self.today.year(), part(self.today.month())?, part(self.today.day())?)
    }
}

fn missing(id: FileId) -> FileError {
    FileError::NotFound(id.vpath().get_without_slash().into())
}
