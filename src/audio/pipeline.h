// SPDX-License-Identifier: MIT
// A GStreamer pipeline that ends in an appsink, as a source. Within this folder only.
#ifndef DW_AUDIO_PIPELINE_H
#define DW_AUDIO_PIPELINE_H

#include "audio/source.h"

#include <gst/gst.h>
#include <stdbool.h>

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

#endif
