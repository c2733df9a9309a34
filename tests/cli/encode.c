// SPDX-License-Identifier: MIT
// Turns a sound file into another format: encode IN OUT ELEMENTS, the encoder
// and muxer as GStreamer writes them. Exit 77 when one is not installed.
#include <gst/gst.h>
#include <stdbool.h>
#include <stdio.h>

enum { NOT_HERE = 77 };

int main(int count, char **arguments)
{
    if (count != 4)
        return 2;
    gst_init(NULL, NULL);
    GError *error = NULL;
    char *description =
        g_strdup_printf("filesrc name=in ! decodebin ! audioconvert ! %s ! filesink name=out", arguments[3]);
    GstElement *pipeline = gst_parse_launch_full(description, NULL, GST_PARSE_FLAG_FATAL_ERRORS, &error);
    g_free(description);
    if (!pipeline) {
        printf("%s\n", error->message);
        return error->domain == GST_PARSE_ERROR && error->code == GST_PARSE_ERROR_NO_SUCH_ELEMENT ? NOT_HERE : 1;
    }
    const char *const ends[] = {"in", "out"};
    for (int i = 0; i < 2; i++) {
        GstElement *end = gst_bin_get_by_name(GST_BIN(pipeline), ends[i]);
        g_object_set(end, "location", arguments[1 + i], NULL);
        gst_object_unref(end);
    }
    gst_element_set_state(pipeline, GST_STATE_PLAYING);
    GstBus *bus = gst_element_get_bus(pipeline);
    GstMessage *end = gst_bus_timed_pop_filtered(bus, 100 * GST_SECOND, GST_MESSAGE_EOS | GST_MESSAGE_ERROR);
    bool done = end && GST_MESSAGE_TYPE(end) == GST_MESSAGE_EOS;
    if (end)
        gst_message_unref(end);
    gst_object_unref(bus);
    gst_element_set_state(pipeline, GST_STATE_NULL);
    gst_object_unref(pipeline);
    return done ? 0 : 1;
}
