// SPDX-License-Identifier: MIT
#include "book/job/photo.h"

#include "base/text.h"
#include "base/tongue.h"
#include "book/store/attachment.h"
#include "book/store/private.h"
#include "book/store/words.h"

#include <math.h>

// From a step of a graticule to the longest wall of a workshop.
#define LEAST_MM 0.0001
#define MOST_MM 100000.0

#define OF_CUSTOMER "attachment_id IN (SELECT id FROM attachment WHERE " DW_JOBS_OF_CUSTOMER ")"

static const DwField scale_fields[] = {
    {"attachment_id", "Picture", DW_FIELD_REFERENCE, offsetof(DwPhotoScale, attachment_id), .refers = "attachment",
     .required = true},
    {"x1", "First point, across", DW_FIELD_REAL, offsetof(DwPhotoScale, x1), .required = true},
    {"y1", "First point, down", DW_FIELD_REAL, offsetof(DwPhotoScale, y1), .required = true},
    {"x2", "Second point, across", DW_FIELD_REAL, offsetof(DwPhotoScale, x2), .required = true},
    {"y2", "Second point, down", DW_FIELD_REAL, offsetof(DwPhotoScale, y2), .required = true},
    {"length_mm", "Distance", DW_FIELD_REAL, offsetof(DwPhotoScale, length_mm), .unit = "mm", .required = true},
    {"mm_per_pixel", "Millimetres a pixel", DW_FIELD_REAL, offsetof(DwPhotoScale, mm_per_pixel), .required = true,
     .kept = true},
    {"reference", "What lies between them", DW_FIELD_TEXT, offsetof(DwPhotoScale, reference)},
    {"at", "At", DW_FIELD_MOMENT, offsetof(DwPhotoScale, at), .required = true, .kept = true},
    {"who", "By", DW_FIELD_TEXT, offsetof(DwPhotoScale, who), .kept = true},
};

static const DwField measure_fields[] = {
    {"attachment_id", "Picture", DW_FIELD_REFERENCE, offsetof(DwPhotoMeasure, attachment_id), .refers = "attachment",
     .required = true},
    {"kind", "Kind", DW_FIELD_CHOICE, offsetof(DwPhotoMeasure, kind),
     .choices = "length|angle|rake|flat|arrow|circle|words|crop|lighten"},
    {"name", "What", DW_FIELD_TEXT, offsetof(DwPhotoMeasure, name)},
    {"x1", "First point, across", DW_FIELD_REAL, offsetof(DwPhotoMeasure, x1), .required = true},
    {"y1", "First point, down", DW_FIELD_REAL, offsetof(DwPhotoMeasure, y1), .required = true},
    {"x2", "Second point, across", DW_FIELD_REAL, offsetof(DwPhotoMeasure, x2), .required = true},
    {"y2", "Second point, down", DW_FIELD_REAL, offsetof(DwPhotoMeasure, y2), .required = true},
    {"x3", "Third point, across", DW_FIELD_REAL, offsetof(DwPhotoMeasure, x3)},
    {"y3", "Third point, down", DW_FIELD_REAL, offsetof(DwPhotoMeasure, y3)},
    {"x4", "Fourth point, across", DW_FIELD_REAL, offsetof(DwPhotoMeasure, x4)},
    {"y4", "Fourth point, down", DW_FIELD_REAL, offsetof(DwPhotoMeasure, y4)},
    {"mm_per_pixel", "Millimetres a pixel", DW_FIELD_REAL, offsetof(DwPhotoMeasure, mm_per_pixel), .kept = true},
    {"value", "Value", DW_FIELD_REAL, offsetof(DwPhotoMeasure, value), .required = true, .kept = true},
    {"unit", "Unit", DW_FIELD_TEXT, offsetof(DwPhotoMeasure, unit), .required = true, .kept = true},
    {"uncertainty", "Uncertainty", DW_FIELD_REAL, offsetof(DwPhotoMeasure, uncertainty)},
    {"remark", "Remark", DW_FIELD_TEXT, offsetof(DwPhotoMeasure, remark)},
    {"at", "At", DW_FIELD_MOMENT, offsetof(DwPhotoMeasure, at), .required = true, .kept = true},
    {"who", "By", DW_FIELD_TEXT, offsetof(DwPhotoMeasure, who), .kept = true},
};

const DwEntity dw_photo_scale_entity = {"photo_scale",
                                        "scale of a picture",
                                        sizeof(DwPhotoScale),
                                        scale_fields,
                                        sizeof scale_fields / sizeof *scale_fields,
                                        .of_customer = OF_CUSTOMER};
const DwEntity dw_photo_measure_entity = {"photo_measure",
                                          "measurement on a picture",
                                          sizeof(DwPhotoMeasure),
                                          measure_fields,
                                          sizeof measure_fields / sizeof *measure_fields,
                                          .of_customer = OF_CUSTOMER};

DwStatus dw_photo_scale_add(DwBook *book, DwPhotoScale *scale, DwMessage *message)
{
    double pixels = hypot(scale->x2 - scale->x1, scale->y2 - scale->y1);
    if (!(pixels > 0) || !isfinite(pixels))
        return dw_fail(message, DW_BAD_INPUT, "A scale needs two points apart from each other.");
    if (!(scale->length_mm > 0) || !isfinite(scale->length_mm))
        return dw_fail(message, DW_BAD_INPUT, "A scale needs the distance of its points in millimetres.");
    if (scale->length_mm < LEAST_MM || scale->length_mm > MOST_MM)
        return dw_fail(message, DW_BAD_INPUT,
                       "No rule or graticule is that long: the distance of a scale's points is %g to %g mm.", LEAST_MM,
                       MOST_MM);
    scale->mm_per_pixel = scale->length_mm / pixels;
    dw_field_stamp(book, &scale->at, &scale->who);
    return dw_record_keep(book, &scale->record, message);
}

DwStatus dw_photo_scale_last(DwBook *book, int64_t attachment, DwPhotoScale *scale, DwMessage *message)
{
    int64_t id = 0;
    DwStatus status =
        dw_query_number(book, "SELECT max(id) FROM photo_scale WHERE attachment_id = ?", attachment, &id, message);
    return status == DW_OK && id ? dw_record_load(book, &scale->record, id, message) : status;
}

DwStatus dw_photo_scale_of(DwBook *book, int64_t attachment, double *mm_per_pixel, DwMessage *message)
{
    DwQuery query = dw_query_begin(
        book, "SELECT coalesce((SELECT mm_per_pixel FROM photo_scale WHERE attachment_id = ?1 ORDER BY id DESC LIMIT 1)"
              ", (SELECT scale_um_per_pixel / 1000 FROM attachment WHERE id = ?1))");
    dw_query_bind_integer(&query, attachment);
    double found = dw_query_step(&query) ? dw_query_real(&query, 0) : NAN;
    DwStatus status = dw_query_end(&query, message);
    if (status == DW_OK)
        *mm_per_pixel = found;
    return status;
}

// Given: two lines as vectors in a picture, whose second axis points down.
// Returned: the angle from the first to the second, anticlockwise as it is seen
// [degrees], -180 to 180.
// Accuracy: exact.
// Reference: the angle between two vectors.
static double turn_between(double ax, double ay, double bx, double by)
{
    return atan2(ay * bx - ax * by, ax * bx + ay * by) * 180 / M_PI;
}

DwPhotoTells dw_photo_tells(DwPhotoKind kind)
{
    switch (kind) {
    case DW_PHOTO_LENGTH:
    case DW_PHOTO_FLAT:
        return DW_PHOTO_TELLS_LENGTH;
    case DW_PHOTO_ANGLE:
        return DW_PHOTO_TELLS_ANGLE;
    case DW_PHOTO_RAKE:
        return DW_PHOTO_TELLS_RAKE;
    case DW_PHOTO_ARROW:
    case DW_PHOTO_CIRCLE:
    case DW_PHOTO_WORDS:
    case DW_PHOTO_CROP:
    case DW_PHOTO_LIGHTEN:
        break;
    }
    return DW_PHOTO_TELLS_NOTHING;
}

bool dw_photo_is_mark(int kind)
{
    return dw_photo_tells((DwPhotoKind)kind) == DW_PHOTO_TELLS_NOTHING;
}

double dw_photo_measure_value(const DwPhotoMeasure *m)
{
    double x = m->x2 - m->x1, y = m->y2 - m->y1, length = hypot(x, y);
    bool is_rake = m->kind == DW_PHOTO_RAKE;
    double other_x = is_rake ? m->x3 - m->x1 : m->x4 - m->x3, other_y = is_rake ? m->y3 - m->y1 : m->y4 - m->y3;
    if (!(length > 0))
        return NAN;
    switch (dw_photo_tells((DwPhotoKind)m->kind)) {
    case DW_PHOTO_TELLS_LENGTH:
        return length * m->mm_per_pixel * (m->kind == DW_PHOTO_FLAT ? 1000 : 1);
    case DW_PHOTO_TELLS_ANGLE:
        return hypot(other_x, other_y) > 0 ? turn_between(x, y, other_x, other_y) : NAN;
    case DW_PHOTO_TELLS_RAKE:
        return hypot(other_x, other_y) > 0 ? fabs(turn_between(x, y, other_x, other_y)) : NAN;
    case DW_PHOTO_TELLS_NOTHING:
        break;
    }
    return length;
}

// What a mark has to have beside two points.
static DwStatus check_mark(const DwPhotoMeasure *m, DwMessage *message)
{
    enum { LEAST = 16, LETTERS_MOST = 200 };
    if (m->kind == DW_PHOTO_WORDS && (!m->name || dw_text_is_blank(m->name)))
        return dw_fail(message, DW_BAD_INPUT, "Type the words that are to stand on the picture, under What it is.");
    if (m->kind == DW_PHOTO_WORDS && dw_text_columns(m->name) > LETTERS_MOST)
        return dw_fail(message, DW_BAD_INPUT,
                       "These words would cover the picture. Write at most %d letters on it, and the rest as a remark.",
                       LETTERS_MOST);
    bool is_area = m->kind == DW_PHOTO_CROP || m->kind == DW_PHOTO_LIGHTEN;
    if (is_area && !(fabs(m->x2 - m->x1) >= LEAST && fabs(m->y2 - m->y1) >= LEAST))
        return dw_fail(message, DW_BAD_INPUT, "Mark two opposite corners, %d pixels or more apart each way.", LEAST);
    return DW_OK;
}

// So many that each can be seen, and the page that lists them is no longer than another.
enum { MARKS_MOST = 60 };

static DwStatus check_room(DwBook *book, int64_t attachment, DwMessage *message)
{
    DwRecords there;
    DwStatus status =
        dw_record_newest(book, &dw_photo_measure_entity, "attachment_id", attachment, MARKS_MOST, &there, message);
    if (status != DW_OK)
        return status;
    bool full = there.count >= MARKS_MOST;
    dw_records_clear(&there);
    return full ? dw_fail(message, DW_BAD_INPUT,
                          "The picture carries %d marks already, and more would hide it. Take one out first, or mark "
                          "another picture of the same place.",
                          MARKS_MOST)
                : DW_OK;
}

static DwStatus add(DwBook *book, DwPhotoMeasure *measure, const char *unit, DwMessage *message)
{
    DwStatus status = check_room(book, measure->attachment_id, message);
    if (status != DW_OK)
        return status;
    dw_field_replace(&measure->unit, unit);
    dw_field_stamp(book, &measure->at, &measure->who);
    return dw_record_keep(book, &measure->record, message);
}

static DwStatus add_mark(DwBook *book, DwPhotoMeasure *mark, DwMessage *message)
{
    mark->value = dw_photo_measure_value(mark);
    mark->mm_per_pixel = mark->uncertainty = NAN;
    if (!isfinite(mark->value))
        return dw_fail(message, DW_BAD_INPUT, "Mark two points apart from each other.");
    DwStatus status = check_mark(mark, message);
    return status == DW_OK ? add(book, mark, "px", message) : status;
}

DwStatus dw_photo_measure_add(DwBook *book, DwPhotoMeasure *measure, DwMessage *message)
{
    static const char *const units[] = {
        [DW_PHOTO_LENGTH] = "mm", [DW_PHOTO_ANGLE] = "deg", [DW_PHOTO_RAKE] = "deg", [DW_PHOTO_FLAT] = "um"};
    static const char *const wanted[] = {[DW_PHOTO_LENGTH] = N_("two points"),
                                         [DW_PHOTO_ANGLE] = N_("two lines by four points"),
                                         [DW_PHOTO_RAKE] = N_("the tip, the stylus's top and the record"),
                                         [DW_PHOTO_FLAT] = N_("two points")};
    if (dw_photo_is_mark(measure->kind))
        return add_mark(book, measure, message);
    bool is_length = dw_photo_tells((DwPhotoKind)measure->kind) == DW_PHOTO_TELLS_LENGTH;
    double scale = NAN;
    DwStatus status = is_length ? dw_photo_scale_of(book, measure->attachment_id, &scale, message) : DW_OK;
    if (status != DW_OK)
        return status;
    if (is_length && isnan(scale))
        return dw_fail(message, DW_BAD_INPUT,
                       "The picture has no scale. Mark two points whose distance is known first.");
    measure->mm_per_pixel = scale;
    measure->value = dw_photo_measure_value(measure);
    if (!isfinite(measure->value))
        return dw_fail(message, DW_BAD_INPUT, "The points make no %s. Mark %s, apart from each other.",
                       is_length ? dw_said("length") : dw_said("angle"), dw_said(wanted[measure->kind]));
    return add(book, measure, units[measure->kind], message);
}
