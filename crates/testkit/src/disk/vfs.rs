//! What SQLite calls: its interface to an operating system, answered by simulated disks.
//!
//! The names and rules of these functions are SQLite's (<https://sqlite.org/c3ref/vfs.html> and io_methods.html). They
//! only translate; what happens is decided in `state`. SQLite sleeps nowhere here, and its clock stands still.
#![allow(unsafe_code, reason = "SQLite calls C functions and hands over pointers")]

use std::ffi::{CStr, c_char, c_int, c_void};
use std::sync::atomic::{Ordering, fence};
use std::sync::{Arc, MutexGuard, Once, PoisonError, Weak};

use rusqlite::ffi;

use super::lock::{Level, OwnSlots};
use super::shared::Shared;
use super::state::{Doing, Refused, State};
use super::{Held, disks};

/// The name under which SQLite knows simulated disks.
pub const VFS: &str = "simulated";
const C_NAME: &CStr = c"simulated";

/// An open file as SQLite sees it: a table of functions, and what they need.
#[repr(C)]
struct OpenFile {
    base: ffi::sqlite3_file,
    handle: *mut Handle,
}

/// What the functions need.
struct Handle {
    disk: Arc<Held>,
    number: u64,
    life: u64,
    level: Level,
    shared: Option<Arc<Shared>>,
    slots: OwnSlots,
    /// The folder is synced with the file, the first time.
    syncs_names: bool,
    /// Deleted when it is closed.
    dies_as: Option<String>,
}

impl Handle {
    fn disk(&self) -> MutexGuard<'_, State> {
        self.disk.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// Does one step on the file.
    fn step<T>(
        &self,
        doing: Doing,
        work: impl FnOnce(&mut State, u64) -> Result<T, Refused>,
    ) -> Result<T, Refused> {
        let mut disk = self.disk();
        disk.step(self.life, doing)?;
        work(&mut disk, self.number)
    }

    fn is_alive(&self) -> bool {
        let disk = self.disk();
        !disk.is_off && disk.life == self.life
    }
}

/// Makes simulated disks known to SQLite.
pub(super) fn register() {
    static ONCE: Once = Once::new();
    ONCE.call_once(|| {
        let vfs = Box::leak(Box::new(ffi::sqlite3_vfs {
            iVersion: 1,
            szOsFile: size_of::<OpenFile>() as c_int,
            mxPathname: MAX_PATH,
            pNext: std::ptr::null_mut(),
            zName: C_NAME.as_ptr(),
            pAppData: std::ptr::null_mut(),
            xOpen: Some(open),
            xDelete: Some(delete),
            xAccess: Some(access),
            xFullPathname: Some(full_path),
            xDlOpen: None,
            xDlError: None,
            xDlSym: None,
            xDlClose: None,
            xRandomness: Some(randomness),
            xSleep: Some(sleep),
            xCurrentTime: Some(current_time),
            xGetLastError: None,
            xCurrentTimeInt64: None,
            xSetSystemCall: None,
            xGetSystemCall: None,
            xNextSystemCall: None,
        }));
        // SAFETY: the structure is complete and lives as long as the program; SQLite initialises itself first.
        let code = unsafe { ffi::sqlite3_vfs_register(vfs, 0) };
        assert_eq!(code, ffi::SQLITE_OK, "SQLite takes in a structure that is complete");
    });
}

const MAX_PATH: c_int = 256;

static METHODS: ffi::sqlite3_io_methods = ffi::sqlite3_io_methods {
    iVersion: 2,
    xClose: Some(close),
    xRead: Some(read),
    xWrite: Some(write),
    xTruncate: Some(truncate),
    xSync: Some(sync),
    xFileSize: Some(file_size),
    xLock: Some(lock),
    xUnlock: Some(unlock),
    xCheckReservedLock: Some(check_reserved),
    xFileControl: Some(file_control),
    xSectorSize: Some(sector_size),
    xDeviceCharacteristics: Some(characteristics),
    xShmMap: Some(shm_map),
    xShmLock: Some(shm_lock),
    xShmBarrier: Some(shm_barrier),
    xShmUnmap: Some(shm_unmap),
    xFetch: None,
    xUnfetch: None,
};

/// The disk and the name on it that a path stands for.
fn find(path: &str) -> Option<(Arc<Held>, &str)> {
    let (number, name) = path.strip_prefix('/')?.split_once('/')?;
    let disk = disks().get(&number.parse().ok()?).and_then(Weak::upgrade)?;
    Some((disk, name))
}

/// # Safety
/// `path` is null, or text that ends with a zero and stays as it is for as long as the answer is used.
unsafe fn text<'a>(path: *const c_char) -> Option<&'a str> {
    if path.is_null() {
        return None;
    }
    // SAFETY: the caller promises it.
    unsafe { CStr::from_ptr(path) }.to_str().ok()
}

/// # Safety
/// `file` was opened by [`open`] and not closed since, and SQLite uses it from one thread at a time.
unsafe fn handle<'a>(file: *mut ffi::sqlite3_file) -> &'a mut Handle {
    // SAFETY: `open` put an `OpenFile` there with a handle that only `close` takes away.
    unsafe { &mut *(*file.cast::<OpenFile>()).handle }
}

fn code(result: Result<(), Refused>, broken: c_int) -> c_int {
    match result {
        Ok(()) => ffi::SQLITE_OK,
        Err(Refused::Full) => ffi::SQLITE_FULL,
        Err(Refused::Missing) => ffi::SQLITE_IOERR_DELETE_NOENT,
        Err(Refused::Broken) => broken,
    }
}

unsafe extern "C" fn open(
    _vfs: *mut ffi::sqlite3_vfs,
    path: ffi::sqlite3_filename,
    file: *mut ffi::sqlite3_file,
    flags: c_int,
    out_flags: *mut c_int,
) -> c_int {
    let file = file.cast::<OpenFile>();
    // SAFETY: SQLite hands over `szOsFile` bytes; without methods it takes the file for closed.
    unsafe { (*file).base.pMethods = std::ptr::null() };
    // SAFETY: SQLite keeps the path for as long as the file is open.
    let path = unsafe { text(path) };
    let Some(handle) = path.and_then(find).and_then(|(disk, name)| open_on(disk, name, flags)) else {
        return ffi::SQLITE_CANTOPEN;
    };
    // SAFETY: as above; `out_flags` is null or a place for a number.
    unsafe {
        (*file).handle = Box::into_raw(Box::new(handle));
        (*file).base.pMethods = &raw const METHODS;
        if !out_flags.is_null() {
            *out_flags = flags;
        }
    }
    ffi::SQLITE_OK
}

fn open_on(disk: Arc<Held>, name: &str, flags: c_int) -> Option<Handle> {
    let has = |flag: c_int| flags & flag != 0;
    let mut state = disk.lock().unwrap_or_else(PoisonError::into_inner);
    let life = state.life;
    state.step(life, Doing::Reading).ok()?;
    let found = state.find(name);
    if found.is_some() && has(ffi::SQLITE_OPEN_EXCLUSIVE) {
        return None;
    }
    let is_new = found.is_none();
    let number = match found {
        Some(number) => number,
        None if has(ffi::SQLITE_OPEN_CREATE) => {
            state.step(life, Doing::Writing).ok()?;
            state.create(Some(name))
        }
        None => return None,
    };
    state.node(number).ok()?.open_count += 1;
    drop(state);
    // As SQLite's own for Unix does: the folder is synced with a journal or WAL that is new.
    let beside = ffi::SQLITE_OPEN_MAIN_JOURNAL | ffi::SQLITE_OPEN_SUPER_JOURNAL | ffi::SQLITE_OPEN_WAL;
    Some(Handle {
        disk,
        number,
        life,
        level: Level::None,
        shared: None,
        slots: OwnSlots::default(),
        syncs_names: is_new && has(beside),
        dies_as: has(ffi::SQLITE_OPEN_DELETEONCLOSE).then(|| name.to_owned()),
    })
}

unsafe extern "C" fn close(file: *mut ffi::sqlite3_file) -> c_int {
    let file = file.cast::<OpenFile>();
    // SAFETY: SQLite closes a file once, and what it opened holds a handle made by `Box::into_raw`.
    let mut handle = unsafe { Box::from_raw((*file).handle) };
    // SAFETY: as above; from now on the file has no methods, so nothing asks for the handle.
    unsafe { (*file).base.pMethods = std::ptr::null() };
    release_shared(&mut handle);
    let mut level = handle.level;
    let mut disk = handle.disk();
    if disk.life == handle.life {
        if let Ok(node) = disk.node(handle.number) {
            node.lock.lower(&mut level, Level::None);
        }
        if let Some(name) = &handle.dies_as {
            // It may have been deleted before; then there is nothing left to do.
            let _ = disk.delete(name, false);
        }
    }
    disk.close(handle.life, handle.number);
    ffi::SQLITE_OK
}

unsafe extern "C" fn read(
    file: *mut ffi::sqlite3_file,
    into: *mut c_void,
    count: c_int,
    offset: ffi::sqlite3_int64,
) -> c_int {
    // SAFETY: the file is open.
    let handle = unsafe { handle(file) };
    let count = usize::try_from(count).unwrap_or(0);
    // SAFETY: SQLite hands over a buffer of `count` bytes.
    let into = unsafe { std::slice::from_raw_parts_mut(into.cast::<u8>(), count) };
    let offset = usize::try_from(offset).unwrap_or(usize::MAX);
    let result = handle.step(Doing::Reading, |disk, number| Ok(disk.node(number)?.file.read(offset, into)));
    match result {
        Ok(found) if found == count => ffi::SQLITE_OK,
        Ok(_) => ffi::SQLITE_IOERR_SHORT_READ,
        Err(_) => ffi::SQLITE_IOERR_READ,
    }
}

unsafe extern "C" fn write(
    file: *mut ffi::sqlite3_file,
    from: *const c_void,
    count: c_int,
    offset: ffi::sqlite3_int64,
) -> c_int {
    // SAFETY: the file is open.
    let handle = unsafe { handle(file) };
    let count = usize::try_from(count).unwrap_or(0);
    // SAFETY: SQLite hands over `count` bytes.
    let bytes = unsafe { std::slice::from_raw_parts(from.cast::<u8>(), count) };
    let offset = usize::try_from(offset).unwrap_or(0);
    let result = handle.step(Doing::Writing, |disk, number| disk.write(number, offset, bytes));
    code(result, ffi::SQLITE_IOERR_WRITE)
}

unsafe extern "C" fn truncate(file: *mut ffi::sqlite3_file, len: ffi::sqlite3_int64) -> c_int {
    // SAFETY: the file is open.
    let handle = unsafe { handle(file) };
    let len = usize::try_from(len).unwrap_or(0);
    let result = handle.step(Doing::Writing, |disk, number| {
        disk.node(number)?.file.set_len(len);
        Ok(())
    });
    code(result, ffi::SQLITE_IOERR_TRUNCATE)
}

unsafe extern "C" fn sync(file: *mut ffi::sqlite3_file, _flags: c_int) -> c_int {
    // SAFETY: the file is open.
    let handle = unsafe { handle(file) };
    let with_names = handle.syncs_names;
    let result = handle.step(Doing::Syncing, |disk, number| disk.sync(number, with_names));
    match result {
        Ok(()) => handle.syncs_names = false,
        Err(_) if handle.is_alive() => handle.disk().sync_failed(handle.number),
        Err(_) => {}
    }
    code(result, ffi::SQLITE_IOERR_FSYNC)
}

unsafe extern "C" fn file_size(file: *mut ffi::sqlite3_file, size: *mut ffi::sqlite3_int64) -> c_int {
    // SAFETY: the file is open.
    let handle = unsafe { handle(file) };
    let result = handle.step(Doing::Reading, |disk, number| Ok(disk.node(number)?.file.len()));
    // SAFETY: SQLite hands over a place for the number.
    unsafe { *size = result.map_or(0, |len| len as i64) };
    code(result.map(|_| ()), ffi::SQLITE_IOERR_FSTAT)
}

unsafe extern "C" fn lock(file: *mut ffi::sqlite3_file, level: c_int) -> c_int {
    // SAFETY: the file is open.
    let handle = unsafe { handle(file) };
    if !handle.is_alive() {
        return ffi::SQLITE_IOERR_LOCK;
    }
    let mut own = handle.level;
    let raised =
        handle.disk().node(handle.number).map(|node| node.lock.raise(&mut own, Level::of_number(level)));
    handle.level = own;
    match raised {
        Ok(Ok(())) => ffi::SQLITE_OK,
        Ok(Err(_)) => ffi::SQLITE_BUSY,
        Err(_) => ffi::SQLITE_IOERR_LOCK,
    }
}

unsafe extern "C" fn unlock(file: *mut ffi::sqlite3_file, level: c_int) -> c_int {
    // SAFETY: the file is open.
    let handle = unsafe { handle(file) };
    if !handle.is_alive() {
        return ffi::SQLITE_OK;
    }
    let mut own = handle.level;
    if let Ok(node) = handle.disk().node(handle.number) {
        node.lock.lower(&mut own, Level::of_number(level));
    }
    handle.level = own;
    ffi::SQLITE_OK
}

unsafe extern "C" fn check_reserved(file: *mut ffi::sqlite3_file, is_reserved: *mut c_int) -> c_int {
    // SAFETY: the file is open.
    let handle = unsafe { handle(file) };
    let found =
        handle.is_alive() && handle.disk().node(handle.number).is_ok_and(|node| node.lock.is_reserved());
    // SAFETY: SQLite hands over a place for the number.
    unsafe { *is_reserved = c_int::from(found) };
    ffi::SQLITE_OK
}

unsafe extern "C" fn file_control(_file: *mut ffi::sqlite3_file, _op: c_int, _arg: *mut c_void) -> c_int {
    ffi::SQLITE_NOTFOUND
}

unsafe extern "C" fn sector_size(_file: *mut ffi::sqlite3_file) -> c_int {
    // What SQLite's own for Unix says; it tears at less here, which a sound program must bear.
    4096
}

unsafe extern "C" fn characteristics(_file: *mut ffi::sqlite3_file) -> c_int {
    // As SQLite's own for Unix: a cut leaves bytes beside those written alone.
    ffi::SQLITE_IOCAP_POWERSAFE_OVERWRITE
}

unsafe extern "C" fn shm_map(
    file: *mut ffi::sqlite3_file,
    index: c_int,
    bytes: c_int,
    make: c_int,
    place: *mut *mut c_void,
) -> c_int {
    // SAFETY: the file is open.
    let handle = unsafe { handle(file) };
    let Some(shared) = shared_of(handle) else { return ffi::SQLITE_IOERR_SHMMAP };
    let (index, bytes) = (usize::try_from(index).unwrap_or(0), usize::try_from(bytes).unwrap_or(0));
    let region = shared.region(index, bytes, make != 0);
    // SAFETY: SQLite hands over a place for the pointer. The region lives as long as `shared`, which the handle keeps
    // until SQLite unmaps it or closes the file.
    unsafe { *place = region.map_or(std::ptr::null_mut(), |region| region.cast()) };
    ffi::SQLITE_OK
}

/// The shared memory of a file, made if it is the first to ask.
fn shared_of(handle: &mut Handle) -> Option<&Arc<Shared>> {
    if !handle.is_alive() {
        return None;
    }
    if handle.shared.is_none() {
        let mut disk = handle.disk();
        let node = disk.node(handle.number).ok()?;
        let shared = node.shared.upgrade().unwrap_or_default();
        node.shared = Arc::downgrade(&shared);
        drop(disk);
        handle.shared = Some(shared);
    }
    handle.shared.as_ref()
}

unsafe extern "C" fn shm_lock(
    file: *mut ffi::sqlite3_file,
    from: c_int,
    count: c_int,
    flags: c_int,
) -> c_int {
    // SAFETY: the file is open.
    let handle = unsafe { handle(file) };
    let is_alive = handle.is_alive();
    let Some(shared) = &handle.shared else { return ffi::SQLITE_IOERR_SHMLOCK };
    let from = usize::try_from(from).unwrap_or(0);
    let to = from + usize::try_from(count).unwrap_or(0);
    let own = &mut handle.slots;
    let result = shared.slots(|slots| {
        if flags & ffi::SQLITE_SHM_UNLOCK != 0 {
            slots.give_back(own, from, to);
            Ok(())
        } else if !is_alive {
            Err(ffi::SQLITE_IOERR_SHMLOCK)
        } else if flags & ffi::SQLITE_SHM_SHARED != 0 {
            slots.share(own, from).map_err(|_| ffi::SQLITE_BUSY)
        } else {
            slots.take(own, from, to).map_err(|_| ffi::SQLITE_BUSY)
        }
    });
    result.err().unwrap_or(ffi::SQLITE_OK)
}

unsafe extern "C" fn shm_barrier(_file: *mut ffi::sqlite3_file) {
    fence(Ordering::SeqCst);
}

unsafe extern "C" fn shm_unmap(file: *mut ffi::sqlite3_file, _delete: c_int) -> c_int {
    // SAFETY: the file is open.
    release_shared(unsafe { handle(file) });
    ffi::SQLITE_OK
}

fn release_shared(handle: &mut Handle) {
    if let Some(shared) = handle.shared.take() {
        shared.slots(|slots| slots.give_back(&mut handle.slots, 0, super::lock::SLOTS));
    }
}

unsafe extern "C" fn delete(_vfs: *mut ffi::sqlite3_vfs, path: *const c_char, sync_folder: c_int) -> c_int {
    // SAFETY: SQLite hands over text that ends with a zero.
    let Some((disk, name)) = unsafe { text(path) }.and_then(find) else { return ffi::SQLITE_IOERR_DELETE };
    let mut disk = disk.lock().unwrap_or_else(PoisonError::into_inner);
    let life = disk.life;
    let result = disk.step(life, Doing::Writing).and_then(|()| disk.delete(name, sync_folder != 0));
    code(result, ffi::SQLITE_IOERR_DELETE)
}

unsafe extern "C" fn access(
    _vfs: *mut ffi::sqlite3_vfs,
    path: *const c_char,
    _flags: c_int,
    out: *mut c_int,
) -> c_int {
    // SAFETY: SQLite hands over text that ends with a zero.
    let Some((disk, name)) = unsafe { text(path) }.and_then(find) else { return ffi::SQLITE_IOERR_ACCESS };
    let mut disk = disk.lock().unwrap_or_else(PoisonError::into_inner);
    let life = disk.life;
    if disk.step(life, Doing::Reading).is_err() {
        return ffi::SQLITE_IOERR_ACCESS;
    }
    // As SQLite's own for Unix: an empty file is as good as none.
    let number = disk.find(name);
    let is_there = number.is_some_and(|number| disk.node(number).is_ok_and(|node| node.file.len() > 0));
    // SAFETY: SQLite hands over a place for the number.
    unsafe { *out = c_int::from(is_there) };
    ffi::SQLITE_OK
}

unsafe extern "C" fn full_path(
    _vfs: *mut ffi::sqlite3_vfs,
    path: *const c_char,
    size: c_int,
    out: *mut c_char,
) -> c_int {
    // SAFETY: SQLite hands over text that ends with a zero.
    let path = unsafe { CStr::from_ptr(path) };
    let bytes = path.to_bytes_with_nul();
    if bytes.len() > usize::try_from(size).unwrap_or(0) {
        return ffi::SQLITE_CANTOPEN;
    }
    // SAFETY: the place holds `size` bytes, and the two do not overlap.
    unsafe { std::ptr::copy_nonoverlapping(path.as_ptr(), out, bytes.len()) };
    ffi::SQLITE_OK
}

unsafe extern "C" fn randomness(_vfs: *mut ffi::sqlite3_vfs, count: c_int, out: *mut c_char) -> c_int {
    let bytes = usize::try_from(count).unwrap_or(0);
    // SAFETY: SQLite hands over a place for so many bytes.
    unsafe { std::ptr::write_bytes(out, 0x5A, bytes) };
    count
}

unsafe extern "C" fn sleep(_vfs: *mut ffi::sqlite3_vfs, microseconds: c_int) -> c_int {
    std::thread::yield_now();
    microseconds
}

unsafe extern "C" fn current_time(_vfs: *mut ffi::sqlite3_vfs, out: *mut f64) -> c_int {
    // SAFETY: SQLite hands over a place for the number: the Julian day of 2025-03-04 12:00.
    unsafe { *out = 2_460_739.0 };
    ffi::SQLITE_OK
}
