// SPDX-License-Identifier: MIT
// What a codec puts ahead of the sound it was given, so that the first sample handed
// on is the first that was recorded. Within this folder only.
#ifndef DW_AUDIO_PADDING_H
#define DW_AUDIO_PADDING_H

#include <gst/gst.h>
#include <stdint.h>

// Returned: the decoded frames ahead of the sound that the file at PATH states itself, or -1 when it states none.
//
// Reference: of MPEG audio, the encoder's delay in the tag of its first frame ("Mp3 Info Tag rev 1
// specifications", delays of 12 bits each – from memory), and the decoder's own; of MP4, the priming in the
// item "iTunSMPB" of the metadata (Apple, "QuickTime File Format", appendix G – from memory). An edit list is the
// demultiplexer's business.
int64_t dw_padding_stated(const char *path);

// Returned: the decoded frames ahead of the sound that no encoder of the codec of CAPS can do without, by its
// standard. FIRST_FRAMES is the length of the first block that the decoder gave.
//
// Reference: ISO/IEC 11172-3:1993: the polyphase filters of analysis and synthesis, 512 taps at 32 bands each, are
// 512 - 32 + 1 = 481 samples late, the lapped transform of layer III 18 of the 32 bands' samples more.
// ISO/IEC 14496-3, 4.6.11, and ATSC A/52, 7.9: of lapped transforms the first block decodes
// to the half of a window that lacks its other half: a frame of AAC, 256 samples of AC-3. [derived]
int64_t dw_padding_of_codec(const GstCaps *caps, int64_t first_frames);

#endif
