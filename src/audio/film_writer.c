// SPDX-License-Identifier: MIT
#include "audio/film_writer.h"

#include "audio/growing.h"
#include "audio/pipeline.h"
#include "base/memory.h"

#include <gst/app/gstappsrc.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>

enum { TICKS = 90000, QUALITY = 92, FRAMES_WAITING = 4 };

struct DwFilmWriter {
    DwGrowing file;
    GstElement *pipeline;
    GstAppSrc *source;
    GstBus *bus;
    size_t width, height, stride; // GStreamer's rows are whole numbers of four bytes
    char why[200];
};

typedef struct {
    const char *ending, *code, *container; // parts of GStreamer; no container: a single picture
} Kind;

static const Kind kinds[] = {
    {".mov", "jpegenc", "qtmux"}, {".mkv", "jpegenc", "matroskamux"}, {".jpg", "jpegenc", NULL},
    {".jpeg", "jpegenc", NULL},   {".png", "pngenc", NULL},
};

static const Kind *kind_of(const char *path)
{
    const char *dot = strrchr(path, '.');
    for (size_t i = 0; dot && i < sizeof kinds / sizeof *kinds; i++)
        if (strcasecmp(dot, kinds[i].ending) == 0)
            return &kinds[i];
    return NULL;
}

bool dw_film_writer_is_film(const char *path)
{
    const Kind *kind = kind_of(path);
    return kind && kind->container;
}

bool dw_film_writer_is_photo(const char *path)
{
    const Kind *kind = kind_of(path);
    return kind && !kind->container;
}

// The way from the pictures to the file's end. Returned: whether all parts are there.
static bool link_parts(DwFilmWriter *writer, const Kind *kind, DwMessage *message)
{
    GstElement *source = dw_pipeline_add(writer->pipeline, "appsrc", NULL, message);
    GstElement *convert = source ? dw_pipeline_add(writer->pipeline, "videoconvert", NULL, message) : NULL;
    GstElement *code = convert ? dw_pipeline_add(writer->pipeline, kind->code, NULL, message) : NULL;
    GstElement *sink = code ? dw_pipeline_add(writer->pipeline, "fdsink", NULL, message) : NULL;
    GstElement *container =
        sink && kind->container ? dw_pipeline_add(writer->pipeline, kind->container, NULL, message) : NULL;
    if (!sink || (kind->container && !container))
        return false;
    writer->source = GST_APP_SRC(gst_object_ref(source));
    g_object_set(sink, "fd", writer->file.descriptor, "sync", FALSE, NULL);
    if (strcmp(kind->code, "jpegenc") == 0)
        g_object_set(code, "quality", QUALITY, NULL);
    bool linked = gst_element_link_many(source, convert, code, NULL);
    if (!container)
        return linked && gst_element_link(code, sink);
    linked = linked && gst_element_link_many(code, container, sink, NULL);
    GstPad *pad = gst_element_get_static_pad(code, "src"), *entry = pad ? gst_pad_get_peer(pad) : NULL;
    if (entry && g_object_class_find_property(G_OBJECT_GET_CLASS(entry), "trak-timescale"))
        g_object_set(entry, "trak-timescale", TICKS, NULL);
    g_clear_object(&entry);
    g_clear_object(&pad);
    return linked;
}

static DwStatus start(DwFilmWriter *writer, const Kind *kind, int width, int height, DwMessage *message)
{
    writer->pipeline = gst_pipeline_new(NULL);
    dw_fail(message, DW_FAILED, "%s: GStreamer's parts do not fit each other. Install them again.", writer->file.path);
    if (!link_parts(writer, kind, message))
        return DW_FAILED;
    GstCaps *caps = gst_caps_new_simple("video/x-raw", "format", G_TYPE_STRING, "GRAY8", "width", G_TYPE_INT, width,
                                        "height", G_TYPE_INT, height, "framerate", GST_TYPE_FRACTION, 0, 1, NULL);
    g_object_set(writer->source, "caps", caps, "format", GST_FORMAT_TIME, "block", TRUE, "max-bytes",
                 (guint64)(FRAMES_WAITING * writer->stride * writer->height), NULL);
    gst_caps_unref(caps);
    writer->bus = gst_element_get_bus(writer->pipeline);
    gst_element_set_state(writer->pipeline, GST_STATE_PLAYING);
    return DW_OK;
}

DwStatus dw_film_writer_open(const char *path, int width, int height, DwFilmWriter **writer, DwMessage *message)
{
    const Kind *kind = kind_of(path);
    if (!kind)
        return dw_fail(message, DW_BAD_INPUT, "%s: the ending says no format. Use .mov, .mkv, .jpg or .png.", path);
    DwFilmWriter *opened = dw_memory_new(1, sizeof *opened);
    opened->width = (size_t)width;
    opened->height = (size_t)height;
    opened->stride = (opened->width + 3) / 4 * 4;
    DwStatus status = dw_pipeline_start(message);
    if (status == DW_OK)
        status = dw_growing_open(path, &opened->file, message);
    else
        opened->file.descriptor = -1;
    if (status == DW_OK)
        status = start(opened, kind, width, height, message);
    if (status != DW_OK) {
        dw_film_writer_abandon(opened);
        return status;
    }
    *writer = opened;
    return DW_OK;
}

static DwStatus fail_writing(DwFilmWriter *writer, const char *reason, DwMessage *message)
{
    return dw_fail(message, DW_FAILED, "%s: writing failed (%s). Make room on the disk or choose another one.",
                   writer->file.path, reason);
}

// Whether the pipeline told of an error, whose reason is kept.
static bool is_broken(DwFilmWriter *writer, GstMessage *news)
{
    if (!news || GST_MESSAGE_TYPE(news) != GST_MESSAGE_ERROR)
        return false;
    GError *error = NULL;
    gst_message_parse_error(news, &error, NULL);
    snprintf(writer->why, sizeof writer->why, "%s", error->message);
    size_t length = strlen(writer->why);
    if (length > 0 && writer->why[length - 1] == '.')
        writer->why[length - 1] = '\0';
    g_error_free(error);
    return true;
}

static GstBuffer *new_picture(const DwFilmWriter *writer, const uint8_t *pixels)
{
    uint8_t *rows = g_malloc0(writer->stride * writer->height);
    for (size_t y = 0; y < writer->height; y++)
        memcpy(rows + y * writer->stride, pixels + y * writer->width, writer->width);
    return gst_buffer_new_wrapped(rows, writer->stride * writer->height);
}

DwStatus dw_film_writer_push(DwFilmWriter *writer, const uint8_t *pixels, double time_s, DwMessage *message)
{
    GstBuffer *buffer = new_picture(writer, pixels);
    GST_BUFFER_PTS(buffer) = gst_util_uint64_scale((guint64)llround(time_s * TICKS), GST_SECOND, TICKS);
    GST_BUFFER_DURATION(buffer) = GST_SECOND / 30; // of the last one; the others last until the next
    GstFlowReturn flow = gst_app_src_push_buffer(writer->source, buffer);
    GstMessage *news = gst_bus_pop_filtered(writer->bus, GST_MESSAGE_ERROR);
    bool broken = is_broken(writer, news);
    g_clear_pointer(&news, gst_message_unref);
    return broken || flow != GST_FLOW_OK ? fail_writing(writer, broken ? writer->why : "the disk refuses", message)
                                         : DW_OK;
}

DwStatus dw_film_writer_close(DwFilmWriter *writer, DwMessage *message)
{
    gst_app_src_end_of_stream(writer->source);
    GstMessage *news =
        gst_bus_timed_pop_filtered(writer->bus, GST_CLOCK_TIME_NONE, GST_MESSAGE_EOS | GST_MESSAGE_ERROR);
    const char *why = is_broken(writer, news) ? writer->why : NULL;
    g_clear_pointer(&news, gst_message_unref);
    gst_element_set_state(writer->pipeline, GST_STATE_NULL);
    if (!why)
        why = dw_growing_keep(&writer->file);
    DwStatus status = why ? fail_writing(writer, why, message) : DW_OK;
    dw_film_writer_abandon(writer);
    return status;
}

void dw_film_writer_abandon(DwFilmWriter *writer)
{
    if (!writer)
        return;
    if (writer->pipeline)
        gst_element_set_state(writer->pipeline, GST_STATE_NULL);
    g_clear_object(&writer->bus);
    g_clear_object(&writer->source);
    g_clear_object(&writer->pipeline);
    dw_growing_drop(&writer->file);
    free(writer);
}
