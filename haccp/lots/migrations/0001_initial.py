
import uuid

import django.db.models.deletion
import django.utils.timezone
from django.conf import settings
from django.db import migrations, models

from haccp.new_tables import NewTables


class Migration(migrations.Migration):

    initial = True

    dependencies = [
        ('plan', '0001_initial'),
        ('premises', '0001_initial'),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        NewTables(
            [
                migrations.CreateModel(
                    name='Hold',
                    fields=[
                        ('id', models.UUIDField(default=uuid.uuid4, editable=False, primary_key=True, serialize=False)),
                        ('cause', models.CharField(max_length=80)),
                        ('reason', models.TextField()),
                        ('placed_at', models.DateTimeField(default=django.utils.timezone.now)),
                    ],
                ),
                migrations.CreateModel(
                    name='HoldLift',
                    fields=[
                        ('id', models.UUIDField(default=uuid.uuid4, editable=False, primary_key=True, serialize=False)),
                        ('reason', models.TextField()),
                        ('lifted_at', models.DateTimeField(default=django.utils.timezone.now)),
                        ('hold', models.OneToOneField(on_delete=django.db.models.deletion.PROTECT, related_name='lift', to='lots.hold')),
                        ('lifted_by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                    ],
                ),
                migrations.CreateModel(
                    name='Lot',
                    fields=[
                        ('id', models.UUIDField(default=uuid.uuid4, editable=False, primary_key=True, serialize=False)),
                        ('kind', models.CharField(choices=[('milk', 'milk lot'), ('ingredient', 'ingredient lot'), ('batch', 'batch'), ('by_product', 'by-product')], max_length=12)),
                        ('code', models.CharField(max_length=40)),
                        ('begun_at', models.DateTimeField()),
                        ('recorded_at', models.DateTimeField(default=django.utils.timezone.now)),
                        ('premises', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='lots', to='premises.premises')),
                        ('product', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='lots', to='plan.product')),
                        ('recorded_by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                        ('revision', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='plan.planrevision')),
                    ],
                    options={
                        'ordering': ['-begun_at'],
                    },
                ),
                migrations.AddField(
                    model_name='hold',
                    name='lot',
                    field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='holds', to='lots.lot'),
                ),
                migrations.CreateModel(
                    name='LotEvent',
                    fields=[
                        ('id', models.UUIDField(default=uuid.uuid4, editable=False, primary_key=True, serialize=False)),
                        ('kind', models.CharField(max_length=40)),
                        ('occurred_at', models.DateTimeField()),
                        ('recorded_at', models.DateTimeField(default=django.utils.timezone.now)),
                        ('note', models.TextField(blank=True)),
                        ('reason', models.TextField(blank=True)),
                        ('withdrawn', models.BooleanField(default=False, help_text='The event that it corrects never happened')),
                        ('corrects', models.OneToOneField(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='corrected_by', to='lots.lotevent')),
                        ('lot', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='events', to='lots.lot')),
                        ('place', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='premises.place')),
                        ('recorded_by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                    ],
                    options={
                        'ordering': ['occurred_at'],
                    },
                ),
                migrations.CreateModel(
                    name='LotLink',
                    fields=[
                        ('id', models.UUIDField(default=uuid.uuid4, editable=False, primary_key=True, serialize=False)),
                        ('amount', models.FloatField()),
                        ('unit', models.CharField(max_length=4)),
                        ('recorded_at', models.DateTimeField(default=django.utils.timezone.now)),
                        ('child', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='links_in', to='lots.lot')),
                        ('parent', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='links_out', to='lots.lot')),
                    ],
                ),
                migrations.CreateModel(
                    name='RevisionMove',
                    fields=[
                        ('id', models.UUIDField(default=uuid.uuid4, editable=False, primary_key=True, serialize=False)),
                        ('reason', models.TextField()),
                        ('moved_at', models.DateTimeField()),
                        ('from_revision', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='plan.planrevision')),
                        ('lot', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='revision_moves', to='lots.lot')),
                        ('moved_by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                        ('to_revision', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='plan.planrevision')),
                    ],
                    options={
                        'ordering': ['moved_at'],
                    },
                ),
                migrations.AddIndex(
                    model_name='lot',
                    index=models.Index(fields=['premises', 'kind', '-begun_at'], name='lots_lot_premise_b82d90_idx'),
                ),
                migrations.AddConstraint(
                    model_name='lot',
                    constraint=models.UniqueConstraint(fields=('premises', 'code'), name='lot_codes_are_unique', violation_error_message='There is already a lot with this code.'),
                ),
                migrations.AddConstraint(
                    model_name='lot',
                    constraint=models.CheckConstraint(condition=models.Q(models.Q(('kind', 'batch'), _negated=True), ('product__isnull', False), _connector='OR'), name='a_batch_has_a_product'),
                ),
                migrations.AddIndex(
                    model_name='hold',
                    index=models.Index(fields=['cause'], name='lots_hold_cause_b32498_idx'),
                ),
                migrations.AddConstraint(
                    model_name='hold',
                    constraint=models.UniqueConstraint(fields=('lot', 'cause'), name='one_hold_per_lot_and_cause'),
                ),
                migrations.AddIndex(
                    model_name='lotevent',
                    index=models.Index(fields=['place', 'kind', 'occurred_at'], name='lots_loteve_place_i_313de4_idx'),
                ),
                migrations.AddIndex(
                    model_name='lotevent',
                    index=models.Index(fields=['recorded_at'], name='lots_loteve_recorde_079034_idx'),
                ),
                migrations.AddConstraint(
                    model_name='lotevent',
                    constraint=models.CheckConstraint(condition=models.Q(('corrects__isnull', True), models.Q(('reason', ''), _negated=True), _connector='OR'), name='a_corrected_event_says_why'),
                ),
                migrations.AddConstraint(
                    model_name='lotevent',
                    constraint=models.CheckConstraint(condition=models.Q(('withdrawn', False), ('corrects__isnull', False), _connector='OR'), name='a_withdrawn_event_names_another'),
                ),
                migrations.AddConstraint(
                    model_name='lotlink',
                    constraint=models.CheckConstraint(condition=models.Q(('parent', models.F('child')), _negated=True), name='no_lot_of_itself'),
                ),
                migrations.AddConstraint(
                    model_name='lotlink',
                    constraint=models.CheckConstraint(condition=models.Q(('amount__gt', 0)), name='a_link_carries_something'),
                ),
                migrations.AddConstraint(
                    model_name='revisionmove',
                    constraint=models.UniqueConstraint(fields=('lot', 'from_revision'), name='a_lot_leaves_a_revision_once'),
                ),
            ]
        )
    ]
