
import uuid

import django.db.models.deletion
import django.utils.timezone
from django.conf import settings
from django.db import migrations, models

from haccp.new_tables import NewTables


class Migration(migrations.Migration):

    initial = True

    dependencies = [
        ('checks', '0001_initial'),
        ('ledger', '0001_initial'),
        ('lots', '0001_initial'),
        ('plan', '0001_initial'),
        ('premises', '0001_initial'),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        NewTables(
            [
                migrations.CreateModel(
                    name='Task',
                    fields=[
                        ('id', models.UUIDField(default=uuid.uuid4, editable=False, primary_key=True, serialize=False)),
                        ('kind', models.CharField(choices=[('action', 'to be done'), ('effectiveness', 'look whether it worked')], max_length=14)),
                        ('title', models.CharField(max_length=200)),
                        ('due_on', models.DateField()),
                        ('recorded_at', models.DateTimeField()),
                    ],
                    options={
                        'ordering': ['due_on', 'recorded_at'],
                    },
                ),
                migrations.CreateModel(
                    name='Deviation',
                    fields=[
                        ('id', models.UUIDField(default=uuid.uuid4, editable=False, primary_key=True, serialize=False)),
                        ('year', models.PositiveSmallIntegerField()),
                        ('number', models.PositiveIntegerField()),
                        ('cause', models.CharField(choices=[('ruling', 'a reading outside its limit, or not proven'), ('missed', 'a check that nobody did'), ('by_hand', 'reported by a person'), ('complaint', 'a complaint'), ('instrument', 'an instrument found out'), ('laboratory', 'a result of the laboratory')], max_length=10)),
                        ('summary', models.TextField()),
                        ('occurred_at', models.DateTimeField()),
                        ('opened_at', models.DateTimeField(default=django.utils.timezone.now)),
                        ('exposed_from', models.DateTimeField(blank=True, help_text='the last check that was met before it', null=True)),
                        ('origin_unknown', models.BooleanField(default=False, help_text='Something was found and nobody knows where it came from: what shares a source is implicated too')),
                        ('control_point', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='deviations', to='plan.controlpoint')),
                        ('missed', models.OneToOneField(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='deviation', to='checks.missedcheck')),
                        ('opened_by', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                        ('premises', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='deviations', to='premises.premises')),
                        ('ruling', models.OneToOneField(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='deviation', to='checks.rulingrow')),
                    ],
                    options={
                        'ordering': ['-opened_at'],
                    },
                ),
                migrations.CreateModel(
                    name='CorrectiveStep',
                    fields=[
                        ('id', models.UUIDField(default=uuid.uuid4, editable=False, primary_key=True, serialize=False)),
                        ('kind', models.CharField(choices=[('cause', 'cause'), ('correction', 'correction: control regained'), ('disposition', 'disposition of the product'), ('prevention', 'prevention of a recurrence'), ('reassessment', 'reassessment of the plan')], max_length=12)),
                        ('text', models.TextField()),
                        ('disposition', models.CharField(blank=True, choices=[('release', 'release, with justification'), ('rework', 'rework under control'), ('heat_treatment', 'divert to heat treatment'), ('animal_feed', 'animal feed, where the authority allows it'), ('destroy', 'destroy'), ('return', 'return to the supplier'), ('not_touched', 'not touched after all'), ('keep_on_hold', 'keep on hold until tested')], max_length=16)),
                        ('recorded_at', models.DateTimeField(default=django.utils.timezone.now)),
                        ('lot', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='dispositions', to='lots.lot')),
                        ('recorded_by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                        ('deviation', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='steps', to='deviations.deviation')),
                    ],
                    options={
                        'ordering': ['recorded_at'],
                    },
                ),
                migrations.CreateModel(
                    name='Closure',
                    fields=[
                        ('id', models.UUIDField(default=uuid.uuid4, editable=False, primary_key=True, serialize=False)),
                        ('closed_at', models.DateTimeField(default=django.utils.timezone.now)),
                        ('closed_by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                        ('signature', models.OneToOneField(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='ledger.signature')),
                        ('deviation', models.OneToOneField(on_delete=django.db.models.deletion.PROTECT, related_name='closure', to='deviations.deviation')),
                    ],
                ),
                migrations.CreateModel(
                    name='Evidence',
                    fields=[
                        ('id', models.UUIDField(default=uuid.uuid4, editable=False, primary_key=True, serialize=False)),
                        ('filename', models.CharField(max_length=200)),
                        ('note', models.CharField(blank=True, max_length=400)),
                        ('sha256', models.CharField(max_length=64)),
                        ('size_bytes', models.PositiveIntegerField()),
                        ('deflated', models.BinaryField()),
                        ('attached_at', models.DateTimeField()),
                        ('attached_by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                        ('deviation', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='evidence', to='deviations.deviation')),
                    ],
                    options={
                        'ordering': ['attached_at'],
                    },
                ),
                migrations.CreateModel(
                    name='LotEnd',
                    fields=[
                        ('id', models.UUIDField(default=uuid.uuid4, editable=False, primary_key=True, serialize=False)),
                        ('disposition', models.CharField(choices=[('release', 'release, with justification'), ('rework', 'rework under control'), ('heat_treatment', 'divert to heat treatment'), ('animal_feed', 'animal feed, where the authority allows it'), ('destroy', 'destroy'), ('return', 'return to the supplier'), ('not_touched', 'not touched after all'), ('keep_on_hold', 'keep on hold until tested')], max_length=16)),
                        ('note', models.TextField()),
                        ('ended_at', models.DateTimeField()),
                        ('recorded_at', models.DateTimeField()),
                        ('deviation', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='ends', to='deviations.deviation')),
                        ('lot', models.OneToOneField(on_delete=django.db.models.deletion.PROTECT, related_name='end', to='lots.lot')),
                        ('recorded_by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                    ],
                    options={
                        'ordering': ['ended_at'],
                    },
                ),
                migrations.CreateModel(
                    name='TaskDone',
                    fields=[
                        ('task', models.OneToOneField(on_delete=django.db.models.deletion.PROTECT, primary_key=True, related_name='done', serialize=False, to='deviations.task')),
                        ('note', models.TextField()),
                        ('worked', models.BooleanField(blank=True, null=True)),
                        ('done_at', models.DateTimeField()),
                    ],
                    options={
                        'ordering': ['done_at'],
                    },
                ),
                migrations.AddField(
                    model_name='task',
                    name='deviation',
                    field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='tasks', to='deviations.deviation'),
                ),
                migrations.AddField(
                    model_name='task',
                    name='owner',
                    field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='deviation_tasks', to=settings.AUTH_USER_MODEL),
                ),
                migrations.AddField(
                    model_name='task',
                    name='recorded_by',
                    field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL),
                ),
                migrations.CreateModel(
                    name='Widening',
                    fields=[
                        ('id', models.UUIDField(default=uuid.uuid4, editable=False, primary_key=True, serialize=False)),
                        ('reason', models.TextField()),
                        ('recorded_at', models.DateTimeField()),
                        ('deviation', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='widenings', to='deviations.deviation')),
                        ('recorded_by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                    ],
                    options={
                        'ordering': ['recorded_at'],
                    },
                ),
                migrations.CreateModel(
                    name='MissedAgain',
                    fields=[
                        ('missed', models.OneToOneField(on_delete=django.db.models.deletion.PROTECT, primary_key=True, related_name='deviation_joined', serialize=False, to='checks.missedcheck')),
                        ('joined_at', models.DateTimeField()),
                        ('deviation', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='missed_again', to='deviations.deviation')),
                    ],
                    options={
                        'ordering': ['missed__missed_at'],
                    },
                ),
                migrations.CreateModel(
                    name='ImplicatedLot',
                    fields=[
                        ('id', models.UUIDField(default=uuid.uuid4, editable=False, primary_key=True, serialize=False)),
                        ('why', models.TextField()),
                        ('way', models.CharField(choices=[('direct', 'touched itself'), ('onward', 'came to it from there'), ('common', 'shares a source or a room with it')], max_length=8)),
                        ('touched_from', models.DateTimeField()),
                        ('deviation', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='implicated', to='deviations.deviation')),
                        ('lot', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='implicated_by', to='lots.lot')),
                        ('widening', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='lots', to='deviations.widening')),
                    ],
                    options={
                        'ordering': ['lot__code'],
                    },
                ),
                migrations.AddIndex(
                    model_name='deviation',
                    index=models.Index(fields=['premises', '-opened_at'], name='deviations__premise_bf1b30_idx'),
                ),
                migrations.AddConstraint(
                    model_name='deviation',
                    constraint=models.UniqueConstraint(fields=('premises', 'year', 'number'), name='deviation_numbers_are_unique'),
                ),
                migrations.AddConstraint(
                    model_name='deviation',
                    constraint=models.CheckConstraint(condition=models.Q(models.Q(('cause', 'ruling'), ('missed__isnull', True), ('ruling__isnull', False)), models.Q(('cause', 'missed'), ('missed__isnull', False), ('ruling__isnull', True)), models.Q(models.Q(('cause__in', ['ruling', 'missed']), _negated=True), ('missed__isnull', True), ('ruling__isnull', True)), _connector='OR'), name='a_deviation_has_one_cause'),
                ),
                migrations.AddConstraint(
                    model_name='correctivestep',
                    constraint=models.CheckConstraint(condition=models.Q(models.Q(('kind', 'disposition'), ('lot__isnull', False), models.Q(('disposition', ''), _negated=True)), models.Q(models.Q(('kind', 'disposition'), _negated=True), ('disposition', ''), ('lot__isnull', True)), _connector='OR'), name='a_disposition_names_its_lot'),
                ),
                migrations.AddField(
                    model_name='taskdone',
                    name='done_by',
                    field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL),
                ),
                migrations.AddConstraint(
                    model_name='implicatedlot',
                    constraint=models.UniqueConstraint(fields=('deviation', 'lot'), name='a_lot_is_implicated_once'),
                ),
            ]
        )
    ]
