//! Photographs without what cameras hide in them: place, time, device, serial, thumbnails, comments.
//!
//! Leaves out what can be seen in the picture itself: that is for the author to look at.

/// Why a photograph cannot go out.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum PhotoError {
    /// Neither JPEG nor PNG.
    #[error("it is neither JPEG nor PNG")]
    OtherKind,
    /// The picture cannot be read.
    #[error("it cannot be decoded: {why}")]
    Broken {
        /// What is wrong.
        why: String,
    },
}

/// A photograph without the notes of its camera.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Stripped {
    /// `image/jpeg` or `image/png`.
    pub media_type: &'static str,
    /// What is left.
    pub bytes: Vec<u8>,
    /// How many bytes went.
    pub gone: usize,
}

/// Takes everything out of a photograph but the picture.
///
/// # Errors
/// [`PhotoError`].
pub fn stripped(_bytes: &[u8]) -> Result<Stripped, PhotoError> {
    Err(PhotoError::OtherKind)
}
