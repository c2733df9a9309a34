// SPDX-License-Identifier: MIT
// The devices by which sound comes in. Within this folder only.
#ifndef DW_AUDIO_DEVICES_H
#define DW_AUDIO_DEVICES_H

#include <gst/gst.h>

// What is plugged in now, as a list of GstDevice. GStreamer must have been
// started. The caller frees it with dw_devices_free().
GList *dw_devices_find(void);
void dw_devices_free(GList *devices);

#endif
