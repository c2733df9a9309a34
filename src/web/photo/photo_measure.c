// SPDX-License-Identifier: MIT
// What is marked on a photograph, as the browser posts it: the points come from there,
// the length or angle and how far it can be trusted are worked out here.
#include "base/memory.h"
#include "base/text.h"
#include "book/job/photo.h"
#include "physics/photo.h"
#include "physics/rake.h"
#include "web/photo/pages.h"
#include "web/photo/photo.h"
#include "web/server/words.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define DEGREES (180 / M_PI)
enum { POINTS_MOST = 4 };

static double number_of(const DwWebRequest *request, const char *name)
{
    double value;
    const char *text = dw_request_field(request, name), *end = dw_text_number(text, &value);
    return end && end[strspn(end, " ")] == '\0' ? value : NAN;
}

// The first COUNT points that were sent, which must lie on the picture.
static DwStatus read_points(const DwWebRequest *request, int count, int width, int height,
                            DwPhotoPoint points[POINTS_MOST], DwMessage *message)
{
    for (int i = 0; i < POINTS_MOST; i++) {
        char across[4], down[4];
        snprintf(across, sizeof across, "x%d", i + 1);
        snprintf(down, sizeof down, "y%d", i + 1);
        points[i] =
            i < count ? (DwPhotoPoint){number_of(request, across), number_of(request, down)} : (DwPhotoPoint){NAN, NAN};
        bool inside = points[i].x >= 0 && points[i].x <= width && points[i].y >= 0 && points[i].y <= height;
        if (i < count && !inside)
            return dw_fail(message, DW_BAD_INPUT,
                           "Point %d is missing or not on the picture, which has %d × %d pixels. Place %d points.",
                           i + 1, width, height, count);
    }
    return DW_OK;
}

static DwStatus read_error(const DwWebRequest *request, double *error, DwMessage *message)
{
    *error = dw_request_sent(request, "error") ? number_of(request, "error") : 1;
    return *error > 0 && *error <= 1000
               ? DW_OK
               : dw_fail(message, DW_BAD_INPUT, "Say to within how many pixels a point is right, such as 1.");
}

static DwStatus keep_scale(const DwWebRequest *request, const DwAttachment *photo, const DwPhotoPoint *points,
                           DwMessage *message)
{
    DwPhotoScale scale;
    dw_record_init(&scale.record, &dw_photo_scale_entity);
    scale.attachment_id = photo->record.id;
    scale.x1 = points[0].x;
    scale.y1 = points[0].y;
    scale.x2 = points[1].x;
    scale.y2 = points[1].y;
    scale.length_mm = number_of(request, "length_mm");
    const char *name = dw_request_field(request, "name"), *remark = dw_request_field(request, "remark");
    char *reference = dw_text_format("%s%s%s", name, *name && *remark ? ", " : "", remark);
    DwStatus status = dw_record_set(request->book, &scale.record, "reference", reference, message);
    if (status == DW_OK)
        status = dw_photo_scale_add(request->book, &scale, message);
    free(reference);
    dw_record_clear(&scale.record);
    return status;
}

// The two points that the scale in force was taken from. One without points (a graticule's
// number) is taken as exact: as if they were infinitely far apart.
static DwStatus scale_points(const DwWebRequest *request, int64_t photo, DwPhotoPoint points[2], double *length_mm,
                             DwMessage *message)
{
    DwPhotoScale scale;
    double mm_per_pixel = NAN;
    dw_record_init(&scale.record, &dw_photo_scale_entity);
    DwStatus status = dw_photo_scale_last(request->book, photo, &scale, message);
    if (status == DW_OK)
        status = dw_photo_scale_of(request->book, photo, &mm_per_pixel, message);
    bool marked = scale.record.id != 0;
    points[0] = marked ? (DwPhotoPoint){scale.x1, scale.y1} : (DwPhotoPoint){0, 0};
    points[1] = marked ? (DwPhotoPoint){scale.x2, scale.y2} : (DwPhotoPoint){1e12, 0};
    *length_mm = marked ? scale.length_mm : mm_per_pixel * 1e12;
    dw_record_clear(&scale.record);
    return status;
}

// The 95 % uncertainty that ERROR pixels at each point make, in the unit of KIND.
static DwStatus doubt(const DwWebRequest *request, int64_t photo, DwPhotoKind kind, const DwPhotoPoint *points,
                      double error, double *uncertainty, DwMessage *message)
{
    DwPhotoPoint scale[2];
    double length_mm = NAN;
    DwStatus status = DW_OK;
    switch (dw_photo_tells(kind)) {
    case DW_PHOTO_TELLS_ANGLE:
        *uncertainty = dw_photo_angle_deviation(points, error) * DEGREES;
        break;
    case DW_PHOTO_TELLS_RAKE:
        *uncertainty = DEGREES * dw_rake_point_deviation((DwRakePoint){points[0].x, points[0].y},
                                                         (DwRakePoint){points[1].x, points[1].y},
                                                         (DwRakePoint){points[2].x, points[2].y}, error);
        break;
    case DW_PHOTO_TELLS_LENGTH:
        status = scale_points(request, photo, scale, &length_mm, message);
        *uncertainty = dw_photo_length_deviation(points, scale, length_mm, error) * (kind == DW_PHOTO_FLAT ? 1000 : 1);
        break;
    case DW_PHOTO_TELLS_NOTHING:
        *uncertainty = NAN;
        break;
    }
    return status;
}

static DwStatus keep_measure(const DwWebRequest *request, const DwAttachment *photo, DwPhotoKind kind,
                             const DwPhotoPoint *points, DwMessage *message)
{
    DwPhotoMeasure measure;
    double error = NAN;
    dw_record_init(&measure.record, &dw_photo_measure_entity);
    measure.attachment_id = photo->record.id;
    measure.kind = (int)kind;
    double *const places[][2] = {
        {&measure.x1, &measure.y1}, {&measure.x2, &measure.y2}, {&measure.x3, &measure.y3}, {&measure.x4, &measure.y4}};
    for (size_t i = 0; i < POINTS_MOST; i++) {
        *places[i][0] = points[i].x;
        *places[i][1] = points[i].y;
    }
    DwStatus status = read_error(request, &error, message);
    if (status == DW_OK)
        status = doubt(request, photo->record.id, kind, points, error, &measure.uncertainty, message);
    // What the uncertainty stands on belongs to it.
    const char *remark = dw_request_field(request, "remark");
    char *whole = dw_photo_is_mark((int)kind)
                      ? dw_memory_text(remark)
                      : dw_text_format("%s%spoints ± %g px", remark, *remark ? "; " : "", error);
    if (status == DW_OK)
        status = dw_record_set(request->book, &measure.record, "remark", whole, message);
    if (status == DW_OK)
        status = dw_record_set(request->book, &measure.record, "name", dw_request_field(request, "name"), message);
    if (status == DW_OK)
        status = dw_photo_measure_add(request->book, &measure, message);
    free(whole);
    dw_record_clear(&measure.record);
    return status;
}

static DwStatus keep(const DwWebRequest *request, const DwAttachment *photo, DwMessage *message)
{
    const char *name = dw_request_field(request, "kind");
    bool is_scale = strcmp(name, "scale") == 0;
    int kind = dw_field_choice(dw_field_find(&dw_photo_measure_entity, "kind"), name);
    if (kind < 0 && !is_scale)
        return dw_fail(message, DW_BAD_INPUT,
                       "Say what to mark: a scale, a length, an angle, a rake, a worn flat, an arrow, a circle, words, "
                       "a cut or a place "
                       "to be lighter.");
    DwPictureCopy copy = {0};
    DwPhotoPoint points[POINTS_MOST];
    DwStatus status = dw_pictures_get(request->site->pictures, request->book, photo, DW_PICTURES_SMALL, &copy, message);
    if (status == DW_OK)
        status = read_points(request,
                             kind == DW_PHOTO_ANGLE  ? 4
                             : kind == DW_PHOTO_RAKE ? 3
                                                     : 2,
                             copy.width, copy.height, points, message);
    free(copy.bytes);
    if (status != DW_OK)
        return status;
    return is_scale ? keep_scale(request, photo, points, message)
                    : keep_measure(request, photo, (DwPhotoKind)kind, points, message);
}

static DwAnswer leave(const DwAttachment *photo, DwStatus status, const char *words, const DwMessage *message)
{
    DwAnswer answer;
    char *path = dw_text_format("/photo/%lld#measure", (long long)photo->record.id);
    if (status == DW_OK)
        answer = dw_answer_kept(words, path);
    else
        answer = dw_answer_trouble(status, message);
    free(path);
    return answer;
}

static DwAnswer add_measure(const DwWebRequest *request)
{
    DwAnswer answer;
    DwAttachment photo;
    DwMessage message;
    if (dw_photo_find(request, &photo, &answer)) {
        DwStatus status = dw_attachment_is_picture(&photo)
                              ? keep(request, &photo, &message)
                              : dw_fail(&message, DW_BAD_INPUT, "Nothing is measured on a signature.");
        answer = leave(&photo, status, _("Kept."), &message);
    }
    dw_record_clear(&photo.record);
    return answer;
}

static DwAnswer remove_measure(const DwWebRequest *request)
{
    DwAnswer answer;
    DwAttachment photo;
    DwPhotoMeasure measure;
    DwMessage message;
    dw_record_init(&measure.record, &dw_photo_measure_entity);
    if (dw_photo_find(request, &photo, &answer)) {
        DwStatus status = dw_record_load(request->book, &measure.record, dw_request_id(request, "measure"), &message);
        if (status == DW_OK && measure.attachment_id != photo.record.id)
            status = dw_fail(&message, DW_BAD_INPUT, "That was measured on another picture.");
        if (status == DW_OK)
            status = dw_record_remove(request->book, &measure.record, &message);
        answer = leave(&photo, status, _("Taken out."), &message);
    }
    dw_record_clear(&photo.record);
    dw_record_clear(&measure.record);
    return answer;
}

const DwWebRoute dw_routes_photo_measure[] = {
    {"POST", "/photo/:id/measure", add_measure, false},
    {"POST", "/photo/:id/measure/:measure/remove", remove_measure, false},
    {0},
};
