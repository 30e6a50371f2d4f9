import uuid

import django.db.models.deletion
import django.utils.timezone
from django.conf import settings
from django.db import migrations, models

from haccp.ledger.triggers import RefuseChanges


class Migration(migrations.Migration):

    dependencies = [
        ('lots', '0004_brine'),
        ('making', '0002_sealed'),
        ('premises', '0003_brine_tank'),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.CreateModel(
            name='Brine',
            fields=[
                ('lot', models.OneToOneField(on_delete=django.db.models.deletion.PROTECT, primary_key=True, related_name='brine', serialize=False, to='lots.lot')),
                ('water', models.CharField(max_length=120)),
                ('tank', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='brines', to='premises.place')),
            ],
        ),
        migrations.CreateModel(
            name='BrineChange',
            fields=[
                ('id', models.UUIDField(default=uuid.uuid4, editable=False, primary_key=True, serialize=False)),
                ('what', models.CharField(choices=[('made_up', 'made up'), ('refreshed', 'refreshed'), ('discarded', 'discarded')], max_length=10)),
                ('water_l', models.FloatField(default=0.0)),
                ('typed_water', models.CharField(blank=True, max_length=40)),
                ('water_unit', models.CharField(blank=True, max_length=8)),
                ('typed_salt', models.CharField(blank=True, max_length=40)),
                ('salt_unit', models.CharField(blank=True, max_length=8)),
                ('note', models.TextField(blank=True)),
                ('at', models.DateTimeField()),
                ('recorded_at', models.DateTimeField(default=django.utils.timezone.now)),
                ('brine', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='changes', to='making.brine')),
                ('recorded_by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('salt', models.OneToOneField(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='brine_change', to='lots.lotlink')),
            ],
            options={
                'ordering': ['at', 'recorded_at'],
                'constraints': [models.UniqueConstraint(condition=models.Q(('what', 'discarded')), fields=('brine',), name='a_brine_is_discarded_once'), models.UniqueConstraint(condition=models.Q(('what', 'made_up')), fields=('brine',), name='a_brine_is_made_up_once'), models.CheckConstraint(condition=models.Q(models.Q(('what', 'discarded'), _negated=True), models.Q(('note', ''), _negated=True), _connector='OR'), name='a_discarded_brine_says_why')],
            },
        ),
        migrations.CreateModel(
            name='BrineUse',
            fields=[
                ('id', models.UUIDField(default=uuid.uuid4, editable=False, primary_key=True, serialize=False)),
                ('laid_in_at', models.DateTimeField()),
                ('recorded_at', models.DateTimeField(default=django.utils.timezone.now)),
                ('brine', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='uses', to='making.brine')),
                ('link', models.OneToOneField(on_delete=django.db.models.deletion.PROTECT, related_name='brine_use', to='lots.lotlink')),
                ('make', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='brinings', to='making.make')),
                ('recorded_by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
            ],
            options={
                'ordering': ['laid_in_at', 'recorded_at'],
                'constraints': [models.UniqueConstraint(fields=('brine', 'make'), name='a_batch_is_laid_in_a_brine_once', violation_error_message='This batch already lies in this brine.')],
            },
        ),
        RefuseChanges("making_brine"),
        RefuseChanges("making_brinechange"),
        RefuseChanges("making_brineuse"),
    ]
