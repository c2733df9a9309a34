// SPDX-License-Identifier: MIT
#include "audio/live.h"

#include "audio/decode.h"
#include "audio/devices.h"
#include "audio/header.h"
#include "audio/pipeline.h"
#include "base/memory.h"
#include "base/text.h"

#include <assert.h>
#include <gst/audio/audio.h>
#include <stdlib.h>
#include <string.h>

static const char tone_name[] = "tone";
static const char file_mark[] = "file:";

// Buffers that may wait before the device has to drop samples: at its usual
// 10 ms each, two seconds.
enum { BUFFERS_WAITING = 200, TONE_RATE_HZ = 48000, TONE_BLOCK = 480 };

static void add_input(DwLiveList *list, char *name, char *label)
{
    list->inputs = dw_memory_resize(list->inputs, list->count + 1, sizeof *list->inputs);
    list->inputs[list->count++] = (DwLiveInput){name, label};
}

// The name of the device at PLACE among DEVICES: its own, and a number when an
// earlier one is called the same. The caller frees it with free().
static char *device_name(GList *devices, GList *place)
{
    char *own = gst_device_get_display_name(place->data);
    unsigned same = 1;
    for (GList *other = devices; other != place; other = other->next) {
        char *name = gst_device_get_display_name(other->data);
        same += strcmp(name, own) == 0;
        g_free(name);
    }
    char *name = same > 1 ? dw_text_format("%s (%u)", own, same) : dw_memory_text(own);
    g_free(own);
    return name;
}

DwStatus dw_live_list(DwLiveList *list, DwMessage *message)
{
    assert(list);
    DwStatus status = dw_pipeline_start(message);
    if (status != DW_OK)
        return status;
    *list = (DwLiveList){0};
    add_input(list, dw_memory_text(tone_name), dw_memory_text("Test tone, 3150 Hz (no device)"));
    GList *devices = dw_devices_find();
    for (GList *place = devices; place; place = place->next) {
        char *name = device_name(devices, place);
        add_input(list, name, dw_memory_text(name));
    }
    dw_devices_free(devices);
    return DW_OK;
}

void dw_live_list_clear(DwLiveList *list)
{
    for (size_t i = 0; i < list->count; i++) {
        free(list->inputs[i].name);
        free(list->inputs[i].label);
    }
    free(list->inputs);
    *list = (DwLiveList){0};
}

// FROM → the wanted rate → the end. Takes FROM into a new pipeline; FROM may be
// NULL for a part that is not installed.
static DwStatus open_element(GstElement *from, int rate_hz, int channels, const char *format, DwSource **source,
                             DwMessage *message)
{
    if (!from)
        return dw_fail(message, DW_FAILED, "GStreamer has no part for it. Install gstreamer1.0-plugins-good.");
    GstElement *pipeline = gst_pipeline_new(NULL);
    gst_bin_add(GST_BIN(pipeline), from);
    GstElement *end = dw_pipeline_add_end(pipeline, BUFFERS_WAITING, false, message);
    if (!end) {
        gst_object_unref(pipeline);
        return DW_FAILED;
    }
    GstCaps *caps = gst_caps_new_empty_simple("audio/x-raw");
    if (rate_hz > 0)
        gst_caps_set_simple(caps, "rate", G_TYPE_INT, rate_hz, NULL);
    if (channels > 0)
        gst_caps_set_simple(caps, "channels", G_TYPE_INT, channels, NULL);
    bool is_linked = gst_element_link_filtered(from, end, caps);
    gst_caps_unref(caps);
    if (!is_linked) {
        gst_object_unref(pipeline);
        return dw_fail(message, DW_BAD_INPUT, "it does not give %d Hz", rate_hz);
    }
    return dw_pipeline_open(pipeline, DW_PIPELINE_LIVE, format, NULL, source, message);
}

static DwStatus open_tone(int rate_hz, DwSource **source, DwMessage *message)
{
    GstElement *tone = gst_element_factory_make("audiotestsrc", NULL);
    if (tone)
        g_object_set(tone, "is-live", TRUE, "freq", 3150.0, "volume", 0.5, "samplesperbuffer", TONE_BLOCK, NULL);
    return open_element(tone, rate_hz > 0 ? rate_hz : TONE_RATE_HZ, 2, "test tone", source, message);
}

static DwStatus open_device(const char *name, int rate_hz, DwSource **source, DwMessage *message)
{
    GList *devices = dw_devices_find();
    GstElement *element = NULL;
    bool is_there = false;
    for (GList *place = devices; place && !is_there; place = place->next) {
        char *found = device_name(devices, place);
        is_there = strcmp(found, name) == 0;
        if (is_there)
            element = gst_device_create_element(place->data, NULL);
        free(found);
    }
    dw_devices_free(devices);
    if (!is_there)
        return dw_fail(message, DW_BAD_INPUT, "there is no such input; plug it in, or choose one from the list");
    return open_element(element, rate_hz, 0, "live input", source, message);
}

DwStatus dw_live_open(const char *name, double rate_hz, DwSource **source, DwMessage *message)
{
    assert(name && rate_hz >= 0 && rate_hz < 1e7 && source);
    DwStatus status = dw_pipeline_start(message);
    if (status != DW_OK)
        return status;
    DwMessage why;
    const char *path = strncmp(name, file_mark, strlen(file_mark)) == 0 ? name + strlen(file_mark) : NULL;
    if (path && dw_header_check(path, message) != DW_OK)
        return DW_BAD_INPUT;
    if (path)
        status = dw_decode_open(path, true, source, &why);
    else if (strcmp(name, tone_name) == 0)
        status = open_tone((int)rate_hz, source, &why);
    else
        status = open_device(name, (int)rate_hz, source, &why);
    if (status != DW_OK)
        return dw_fail(message, status, "Live input \"%s\" cannot be opened: %s.", name, why.text);
    return DW_OK;
}
