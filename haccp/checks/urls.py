from django.urls import path

from haccp.checks import day_converter
from haccp.checks.views import (
    before_release,
    calendar,
    codes,
    cover,
    day,
    free_days,
    missed,
    record,
    revision_move,
    today,
    trace,
)

app_name = "checks"
day_converter.register()

urlpatterns = [
    path("today/", today.today, name="today"),
    path("checks/<uuid:due_id>/", record.due, name="due"),
    path("checks/<uuid:due_id>/recorder/", trace.upload, name="trace_upload"),
    path("checks/extra/<uuid:check_id>/", record.extra, name="extra"),
    path("checks/extra/<uuid:check_id>/recorder/", trace.upload_extra, name="trace_upload_extra"),
    path("recorder/<uuid:trace_id>/", trace.confirm, name="trace_confirm"),
    path("records/<uuid:record_id>/", record.record, name="record"),
    path("records/<uuid:record_id>/amend/", record.amend, name="amend"),
    path("missed/", missed.missed_list, name="missed_list"),
    path("missed/<uuid:missed_id>/", missed.missed, name="missed"),
    path("batches/<uuid:lot_id>/revision/", revision_move.revision_move, name="revision_move"),
    path("photos/<uuid:photo_id>/", codes.photo, name="photo"),
    path("codes/", codes.sheet, name="codes"),
    path("batches/<uuid:lot_id>/before-release/", before_release.before_release, name="before_release"),
    path("calendar/", calendar.calendar, name="calendar"),
    path("calendar/closed/", calendar.closed_add, name="closed_add"),
    path("calendar/holidays/", free_days.free_days, name="free_days"),
    path("calendar/holidays/add/", free_days.free_days_add, name="free_days_add"),
    path("calendar/holidays/working/", free_days.free_day_end, name="free_day_end"),
    path("calendar/<uuid:period_id>/reopen/", calendar.reopen, name="reopen"),
    path("cover/", cover.cover, name="cover"),
    path("cover/away/", cover.absence, name="absence"),
    path("cover/away/<uuid:absence_id>/back/", cover.back, name="back"),
    path("cover/check/<uuid:check_id>/", cover.keeper, name="keeper"),
    path("days/", day.days, name="days"),
    path("days/<day:day>/", day.day, name="day"),
]
