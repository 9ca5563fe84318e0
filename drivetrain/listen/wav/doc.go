// Package wav reads the samples of a sound recording in a RIFF/WAVE file, block by
// block, and believes nothing that the file says of its own sizes.
//
// # What is read
//
// Little-endian files of PCM with 8 (unsigned), 16, 24 or 32 bits, or of floats with
// 32, plain or in the extensible form, of one or two channels at 8 to 192 kHz. Chunks
// may stand in any order before the samples; unknown ones are passed over, as is
// the byte that pads an odd one. Of several formats, or pieces of sound, the first
// counts. All else is an error that says what was found and what was wanted.
//
// # Sizes
//
// The size of the whole is not looked at. Where the samples claim more than there is,
// [Reader.Truncated] says so once all have been read. A claim of nothing or of nearly
// 4 GiB is what a recorder leaves that wrote to a pipe or was cut off: then all that
// follows is sound. Only whole blocks count, a block being one sample of each channel.
// Nothing is kept but a buffer, however much a file claims, and no file is read beyond
// two GiB or an hour.
//
// # Units
//
// Integers come scaled by their half range, so that the loudest are at ±1 [1]; floats
// come as they are.
package wav
