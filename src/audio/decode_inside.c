// SPDX-License-Identifier: MIT
#include "audio/decode.h"

#include "audio/parts.h"
#include "audio/pipeline.h"

// Buffers that may wait: some tens of milliseconds each, whatever the decoder makes.
enum { BUFFERS_WAITING = 32 };

// Links the first stream of sound that appears; there is no pad left for a second.
static void link_sound(GstElement *decoder, GstPad *pad, gpointer end)
{
    (void)decoder;
    GstPad *entry = gst_element_get_static_pad(end, "sink");
    if (!gst_pad_is_linked(entry))
        gst_pad_link(pad, entry);
    gst_object_unref(entry);
}

// What the decoder asks before it makes a part; the numbers are its own.
typedef enum { TRY = 0, SKIP = 2 } Select;

static gint select_part(GstElement *decoder, GstPad *pad, GstCaps *caps, GstElementFactory *factory, gpointer user)
{
    (void)decoder;
    (void)pad;
    (void)caps;
    (void)user;
    return dw_parts_has(gst_plugin_feature_get_name(factory)) ? TRY : SKIP;
}

// The decoder shows streams of sound alone, so that a video's pictures are not decoded.
static void want_sound_only(GstElement *decoder)
{
    GstCaps *caps = gst_caps_from_string("audio/x-raw(ANY)");
    g_object_set(decoder, "caps", caps, "expose-all-streams", FALSE, NULL);
    gst_caps_unref(caps);
}

DwStatus dw_decode_inside(const char *path, bool clocked, DwSource **source, DwMessage *message)
{
    DwStatus status = dw_pipeline_start(message);
    if (status != DW_OK)
        return status;
    GstElement *pipeline = gst_pipeline_new(NULL);
    GstElement *file = dw_pipeline_add(pipeline, "filesrc", NULL, message);
    GstElement *decoder = file ? dw_pipeline_add(pipeline, "decodebin", NULL, message) : NULL;
    GstElement *end = decoder ? dw_pipeline_add_end(pipeline, BUFFERS_WAITING, clocked, message) : NULL;
    if (!end) {
        gst_object_unref(pipeline);
        return DW_FAILED;
    }
    g_object_set(file, "location", path, NULL);
    want_sound_only(decoder);
    gst_element_link(file, decoder);
    g_signal_connect(decoder, "autoplug-select", G_CALLBACK(select_part), NULL);
    g_signal_connect(decoder, "pad-added", G_CALLBACK(link_sound), end);
    return dw_pipeline_open(pipeline, clocked ? DW_PIPELINE_LIVE : DW_PIPELINE_RECORDING,
                            clocked ? "recording played as if live" : NULL, path, source, message);
}
