// SPDX-License-Identifier: MIT
#include "audio/live.h"

#include "audio/decode.h"
#include "audio/header.h"
#include "audio/pipeline.h"
#include "audio/pulse.h"
#include "base/memory.h"
#include "base/text.h"

#include <assert.h>
#include <gst/audio/audio.h>
#include <stdlib.h>
#include <string.h>

static const char tone_name[] = "tone";
static const char file_mark[] = "file:", device_mark[] = "device:";

// Buffers that may wait before the device has to drop samples: at its usual
// 10 ms each, two seconds.
enum { BUFFERS_WAITING = 200, TONE_RATE_HZ = 48000, TONE_BLOCK = 480 };

static void add_input(DwLiveList *list, DwLiveInput input)
{
    list->inputs = dw_memory_resize(list->inputs, list->count + 1, sizeof *list->inputs);
    list->inputs[list->count++] = input;
}

// Devices of the sound server, each by the server's own name for it. Returned: false when there is none.
static bool add_served(DwLiveList *list)
{
    DwPulseList served;
    bool answers = dw_pulse_list(&served);
    for (size_t i = 0; i < served.count; i++) {
        const DwPulseInput *input = &served.inputs[i];
        size_t alike = 0;
        for (size_t k = 0; k < served.count; k++)
            alike += strcmp(served.inputs[k].label, input->label) == 0;
        const char *before = input->is_monitor ? "What the computer plays: " : "";
        char *label =
            alike > 1 ? dw_text_format("%s%s (%s)", before, input->label, *input->place ? input->place : input->name)
                      : dw_text_format("%s%s", before, input->label);
        add_input(list, (DwLiveInput){dw_text_format("%s%s", device_mark, input->name), label, input->is_monitor});
    }
    list->server_is_silent = served.is_silent; // other ways to its devices would wait for it much longer
    answers = answers || served.is_silent;
    dw_pulse_list_clear(&served);
    return answers;
}

// The identity of a device that no server knows: where it is plugged in, or its name.
static char *device_identity(GstDevice *device)
{
    GstStructure *properties = gst_device_get_properties(device);
    const char *path = properties ? gst_structure_get_string(properties, "device.string") : NULL;
    if (!path && properties)
        path = gst_structure_get_string(properties, "device.path");
    char *shown = gst_device_get_display_name(device);
    char *identity = dw_memory_text(path ? path : shown);
    g_free(shown);
    if (properties)
        gst_structure_free(properties);
    return identity;
}

static void add_unserved(DwLiveList *list)
{
    GList *devices = dw_devices_find();
    for (GList *place = devices; place; place = place->next) {
        char *identity = device_identity(place->data), *shown = gst_device_get_display_name(place->data);
        bool is_alike = false;
        for (GList *other = devices; other; other = other->next) {
            char *name = gst_device_get_display_name(other->data);
            is_alike = is_alike || (other != place && strcmp(name, shown) == 0);
            g_free(name);
        }
        char *label = is_alike ? dw_text_format("%s (%s)", shown, identity) : dw_memory_text(shown);
        add_input(list, (DwLiveInput){dw_text_format("%s%s", device_mark, identity), label, false});
        g_free(shown);
        free(identity);
    }
    dw_devices_free(devices);
}

DwStatus dw_live_list(DwLiveList *list, DwMessage *message)
{
    assert(list);
    *list = (DwLiveList){0};
    DwStatus status = dw_pipeline_start(message);
    if (status != DW_OK)
        return status;
    add_input(list, (DwLiveInput){dw_memory_text(tone_name), dw_memory_text("Test tone, 3150 Hz (no device)"), false});
    if (!add_served(list))
        add_unserved(list);
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

static const char no_such_input[] = "there is no such input; plug it in, or choose one from the list";

static DwStatus open_unserved(const char *identity, int rate_hz, DwSource **source, DwMessage *message)
{
    GList *devices = dw_devices_find();
    GstDevice *device = NULL;
    for (GList *place = devices; place && !device; place = place->next) {
        char *found = device_identity(place->data);
        if (strcmp(found, identity) == 0)
            device = place->data;
        free(found);
    }
    DwStatus status =
        device ? open_element(gst_device_create_element(device, NULL), rate_hz, 0, "live input", source, message)
               : dw_fail(message, DW_BAD_INPUT, "%s", no_such_input);
    dw_devices_free(devices);
    return status;
}

// The server is asked for the device alone; a list is drawn up only where there is none.
static DwStatus open_device(const char *identity, int rate_hz, DwSource **source, DwMessage *message)
{
    DwStatus status = dw_pulse_open(identity, rate_hz, source, message);
    return status == DW_FAILED ? open_unserved(identity, rate_hz, source, message) : status;
}

// LABEL is of a list, as people type it.
static DwStatus open_labelled(const char *label, int rate_hz, DwSource **source, DwMessage *message)
{
    DwLiveList list = {0};
    if (!add_served(&list))
        add_unserved(&list);
    const char *identity = NULL;
    for (size_t i = 0; i < list.count && !identity; i++)
        if (strcmp(list.inputs[i].label, label) == 0)
            identity = list.inputs[i].name + strlen(device_mark);
    DwStatus status = identity ? open_device(identity, rate_hz, source, message)
                               : dw_fail(message, DW_BAD_INPUT, "%s", no_such_input);
    dw_live_list_clear(&list);
    return status;
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
    else if (strncmp(name, device_mark, strlen(device_mark)) == 0)
        status = open_device(name + strlen(device_mark), (int)rate_hz, source, &why);
    else
        status = open_labelled(name, (int)rate_hz, source, &why);
    if (status != DW_OK)
        return dw_fail(message, status, "Live input \"%s\" cannot be opened: %s.", name, why.text);
    return DW_OK;
}
