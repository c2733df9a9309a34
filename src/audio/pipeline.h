// SPDX-License-Identifier: MIT
// A GStreamer pipeline that ends in an appsink, as a source. Within this folder only.
#ifndef DW_AUDIO_PIPELINE_H
#define DW_AUDIO_PIPELINE_H

#include "audio/source.h"

#include <gst/gst.h>
#include <stdbool.h>
#include <stdint.h>

// Starts GStreamer, once in the life of the program and from any thread.
DwStatus dw_pipeline_start(DwMessage *message);

// An element of KIND in PIPELINE, called NAME when that is not NULL. NULL, with
// the line in MESSAGE, when it is not installed.
GstElement *dw_pipeline_add(GstElement *pipeline, const char *kind, const char *name, DwMessage *message);
// Adds "convert any audio to ours, then hand it over" to PIPELINE: at most
// BUFFERS buffers wait, after which the pipeline waits and drops nothing;
// CLOCKED hands them over at the speed they were recorded at. Returned: the
// element to link to, or NULL as above.
GstElement *dw_pipeline_add_end(GstElement *pipeline, unsigned buffers, bool clocked, DwMessage *message);

typedef enum {
    DW_PIPELINE_RECORDING, // reads fill the block; the end is an end
    DW_PIPELINE_LIVE,      // reads return what has come; silence on the line is trouble
} DwPipelineKind;

// Runs PIPELINE, waits for its first samples and makes it a source. FORMAT says
// what it is; NULL: what the stream says of itself. What a codec put ahead of the sound
// of the recording at PATH (NULL: there is none) is passed over. MESSAGE says only why not,
// without a name: DW_BAD_INPUT for what is played, DW_FAILED for the machine.
// Takes ownership of PIPELINE, on failure too.
DwStatus dw_pipeline_open(GstElement *pipeline, DwPipelineKind kind, const char *format, const char *path,
                          DwSource **source, DwMessage *message);

// The devices by which sound comes in.

// What is plugged in now, as a list of GstDevice. GStreamer must have been
// started. The caller frees it with dw_devices_free().
GList *dw_devices_find(void);
void dw_devices_free(GList *devices);

// What a codec puts ahead of the sound it was given, so that the first sample handed
// on is the first that was recorded.

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
