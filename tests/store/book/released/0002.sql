-- A record book of form 0002, as SQLite dumps it. Invented entries. Never edited.
PRAGMA application_id=1397774146;
BEGIN TRANSACTION;
CREATE TABLE alembic_version (
	version_num VARCHAR(32) NOT NULL, 
	CONSTRAINT alembic_version_pkc PRIMARY KEY (version_num)
);
INSERT INTO "alembic_version" VALUES('0002');
CREATE TABLE batches (
	id VARCHAR NOT NULL, 
	name VARCHAR NOT NULL, 
	species VARCHAR, 
	strain VARCHAR, 
	wish VARCHAR, 
	"plan" VARCHAR, 
	planned_at VARCHAR, 
	wanted_jars BIGINT, 
	ready_low VARCHAR, 
	ready_likely VARCHAR, 
	ready_high VARCHAR, 
	shelf_c FLOAT, 
	started_at VARCHAR, 
	ended_on VARCHAR, 
	note VARCHAR, 
	changed VARCHAR NOT NULL, 
	undone BOOLEAN NOT NULL, 
	seen VARCHAR NOT NULL, 
	disputed VARCHAR, 
	CONSTRAINT pk_batches PRIMARY KEY (id), 
	CONSTRAINT fk_batches_id FOREIGN KEY(id) REFERENCES records (id) DEFERRABLE INITIALLY DEFERRED, 
	CONSTRAINT fk_batches_strain FOREIGN KEY(strain) REFERENCES records (id) DEFERRABLE INITIALLY DEFERRED
)
 WITHOUT ROWID

;
INSERT INTO "batches" VALUES('a11ce0000000b00d','January','oyster',NULL,'kilos = 5','{}',NULL,NULL,'2026-02-01','2026-02-03','2026-02-08',21.0,NULL,NULL,NULL,'2026-01-11T18:00:00.000000Z',0,'5d1c0f2ab3e44703',NULL);
CREATE TABLE blocks (
	id VARCHAR NOT NULL, 
	name VARCHAR NOT NULL, 
	container VARCHAR NOT NULL, 
	made_at VARCHAR NOT NULL, 
	substrate VARCHAR, 
	substrate_kg FLOAT, 
	stored_where VARCHAR, 
	ended_on VARCHAR, 
	note VARCHAR, 
	changed VARCHAR NOT NULL, 
	undone BOOLEAN NOT NULL, 
	seen VARCHAR NOT NULL, 
	disputed VARCHAR, 
	CONSTRAINT pk_blocks PRIMARY KEY (id), 
	CONSTRAINT fk_blocks_id FOREIGN KEY(id) REFERENCES records (id) DEFERRABLE INITIALLY DEFERRED
)
 WITHOUT ROWID

;
CREATE TABLE costs (
	id VARCHAR NOT NULL, 
	spent_on VARCHAR NOT NULL, 
	what VARCHAR NOT NULL, 
	amount FLOAT NOT NULL, 
	unit VARCHAR NOT NULL, 
	record VARCHAR, 
	note VARCHAR, 
	changed VARCHAR NOT NULL, 
	undone BOOLEAN NOT NULL, 
	seen VARCHAR NOT NULL, 
	disputed VARCHAR, 
	CONSTRAINT pk_costs PRIMARY KEY (id), 
	CONSTRAINT fk_costs_id FOREIGN KEY(id) REFERENCES records (id) DEFERRABLE INITIALLY DEFERRED, 
	CONSTRAINT fk_costs_record FOREIGN KEY(record) REFERENCES records (id) DEFERRABLE INITIALLY DEFERRED
)
 WITHOUT ROWID

;
CREATE TABLE cultures (
	id VARCHAR NOT NULL, 
	name VARCHAR NOT NULL, 
	form VARCHAR NOT NULL, 
	strain VARCHAR, 
	lot VARCHAR, 
	parent VARCHAR, 
	from_jar VARCHAR, 
	recipe VARCHAR, 
	made_on VARCHAR, 
	tested_on VARCHAR, 
	test VARCHAR, 
	volume_ml FLOAT, 
	left_ml FLOAT, 
	left_at VARCHAR, 
	clarity VARCHAR, 
	stored_where VARCHAR, 
	ended_on VARCHAR, 
	note VARCHAR, 
	changed VARCHAR NOT NULL, 
	undone BOOLEAN NOT NULL, 
	seen VARCHAR NOT NULL, 
	disputed VARCHAR, 
	CONSTRAINT pk_cultures PRIMARY KEY (id), 
	CONSTRAINT fk_cultures_id FOREIGN KEY(id) REFERENCES records (id) DEFERRABLE INITIALLY DEFERRED, 
	CONSTRAINT fk_cultures_strain FOREIGN KEY(strain) REFERENCES records (id) DEFERRABLE INITIALLY DEFERRED, 
	CONSTRAINT fk_cultures_lot FOREIGN KEY(lot) REFERENCES records (id) DEFERRABLE INITIALLY DEFERRED, 
	CONSTRAINT fk_cultures_parent FOREIGN KEY(parent) REFERENCES records (id) DEFERRABLE INITIALLY DEFERRED, 
	CONSTRAINT fk_cultures_from_jar FOREIGN KEY(from_jar) REFERENCES records (id) DEFERRABLE INITIALLY DEFERRED
)
 WITHOUT ROWID

;
CREATE TABLE entries (
	record VARCHAR NOT NULL, 
	step VARCHAR NOT NULL, 
	line INTEGER NOT NULL, 
	seen VARCHAR NOT NULL, 
	fields VARCHAR NOT NULL, 
	CONSTRAINT pk_entries PRIMARY KEY (record, step), 
	CONSTRAINT fk_entries_record FOREIGN KEY(record) REFERENCES records (id) DEFERRABLE INITIALLY DEFERRED, 
	CONSTRAINT fk_entries_step FOREIGN KEY(step) REFERENCES steps (id) DEFERRABLE INITIALLY DEFERRED
)
 WITHOUT ROWID

;
INSERT INTO "entries" VALUES('a11ce0000000b00c','5d1c0f2ab3e44701',0,'','{"code":"CT36","filled_at":"2026-01-10T18:00:00.000000Z","grain_kg":0.6,"jar_kind":"quart"}');
INSERT INTO "entries" VALUES('a11ce0000000b00c','5d1c0f2ab3e44702',0,'5d1c0f2ab3e44701','{"grain_kg":0.66}');
INSERT INTO "entries" VALUES('a11ce0000000b00d','5d1c0f2ab3e44703',0,'','{"name":"January","plan":"{}","ready_high":"2026-02-08","ready_likely":"2026-02-03","ready_low":"2026-02-01","shelf_c":21.0,"species":"oyster","wish":"kilos = 5"}');
INSERT INTO "entries" VALUES('a11ce0000000b00e','5d1c0f2ab3e44703',1,'','{"amounts":"{\"dry_grain_kg\":2.5}","at":"2026-01-11T18:00:00.000000Z","batch":"a11ce0000000b00d","cautions":"one\ntwo","is_attended":false,"key":"soak-1","kind":"soak","soak":1,"title":"Soak","until":"2026-01-12T06:00:00.000000Z"}');
INSERT INTO "entries" VALUES('a11ce0000000b00f','5d1c0f2ab3e44704',0,'','{"content":"5d2316d6a1c4e1b922a3c9fc145c080793e62a85bf1583512f437ae10c8f0206","height":3,"jar":"a11ce0000000b00c","media_type":"image/jpeg","taken_at":"2026-01-11T18:00:00.000000Z","width":4}');
CREATE TABLE events (
	id VARCHAR NOT NULL, 
	run VARCHAR NOT NULL, 
	at VARCHAR NOT NULL, 
	what VARCHAR NOT NULL, 
	gauge_pa FLOAT, 
	note VARCHAR, 
	changed VARCHAR NOT NULL, 
	undone BOOLEAN NOT NULL, 
	seen VARCHAR NOT NULL, 
	disputed VARCHAR, 
	CONSTRAINT pk_events PRIMARY KEY (id), 
	CONSTRAINT fk_events_id FOREIGN KEY(id) REFERENCES records (id) DEFERRABLE INITIALLY DEFERRED, 
	CONSTRAINT fk_events_run FOREIGN KEY(run) REFERENCES records (id) DEFERRABLE INITIALLY DEFERRED
)
 WITHOUT ROWID

;
CREATE TABLE forecasts (
	"key" VARCHAR NOT NULL, 
	model VARCHAR NOT NULL, 
	made_at VARCHAR NOT NULL, 
	answer VARCHAR NOT NULL, 
	CONSTRAINT pk_forecasts PRIMARY KEY ("key")
);
CREATE TABLE grain_batches (
	id VARCHAR NOT NULL, 
	made_at VARCHAR NOT NULL, 
	grain VARCHAR NOT NULL, 
	lot VARCHAR, 
	dry_kg FLOAT, 
	dry_moisture FLOAT, 
	soak_h FLOAT, 
	water_c FLOAT, 
	simmer_min FLOAT, 
	drained_kg FLOAT, 
	moisture_low FLOAT, 
	moisture_likely FLOAT, 
	moisture_high FLOAT, 
	texture VARCHAR, 
	gypsum_g FLOAT, 
	note VARCHAR, 
	changed VARCHAR NOT NULL, 
	undone BOOLEAN NOT NULL, 
	seen VARCHAR NOT NULL, 
	disputed VARCHAR, 
	CONSTRAINT pk_grain_batches PRIMARY KEY (id), 
	CONSTRAINT fk_grain_batches_id FOREIGN KEY(id) REFERENCES records (id) DEFERRABLE INITIALLY DEFERRED, 
	CONSTRAINT fk_grain_batches_lot FOREIGN KEY(lot) REFERENCES records (id) DEFERRABLE INITIALLY DEFERRED
)
 WITHOUT ROWID

;
CREATE TABLE harvests (
	id VARCHAR NOT NULL, 
	block VARCHAR NOT NULL, 
	at VARCHAR NOT NULL, 
	mass_kg FLOAT NOT NULL, 
	flush BIGINT, 
	note VARCHAR, 
	changed VARCHAR NOT NULL, 
	undone BOOLEAN NOT NULL, 
	seen VARCHAR NOT NULL, 
	disputed VARCHAR, 
	CONSTRAINT pk_harvests PRIMARY KEY (id), 
	CONSTRAINT fk_harvests_id FOREIGN KEY(id) REFERENCES records (id) DEFERRABLE INITIALLY DEFERRED, 
	CONSTRAINT fk_harvests_block FOREIGN KEY(block) REFERENCES records (id) DEFERRABLE INITIALLY DEFERRED
)
 WITHOUT ROWID

;
CREATE TABLE inoculations (
	id VARCHAR NOT NULL, 
	jar VARCHAR NOT NULL, 
	at VARCHAR NOT NULL, 
	culture VARCHAR, 
	from_jar VARCHAR, 
	number BIGINT, 
	dose_ml FLOAT, 
	dose_g FLOAT, 
	who VARCHAR, 
	worked_where VARCHAR, 
	way VARCHAR, 
	note VARCHAR, 
	changed VARCHAR NOT NULL, 
	undone BOOLEAN NOT NULL, 
	seen VARCHAR NOT NULL, 
	disputed VARCHAR, 
	CONSTRAINT pk_inoculations PRIMARY KEY (id), 
	CONSTRAINT fk_inoculations_id FOREIGN KEY(id) REFERENCES records (id) DEFERRABLE INITIALLY DEFERRED, 
	CONSTRAINT fk_inoculations_jar FOREIGN KEY(jar) REFERENCES records (id) DEFERRABLE INITIALLY DEFERRED, 
	CONSTRAINT fk_inoculations_culture FOREIGN KEY(culture) REFERENCES records (id) DEFERRABLE INITIALLY DEFERRED, 
	CONSTRAINT fk_inoculations_from_jar FOREIGN KEY(from_jar) REFERENCES records (id) DEFERRABLE INITIALLY DEFERRED
)
 WITHOUT ROWID

;
CREATE TABLE jars (
	id VARCHAR NOT NULL, 
	code VARCHAR NOT NULL, 
	jar_kind VARCHAR NOT NULL, 
	filled_at VARCHAR NOT NULL, 
	name VARCHAR, 
	fill FLOAT, 
	grain_kg FLOAT, 
	tare_kg FLOAT, 
	grain_batch VARCHAR, 
	lid_batch VARCHAR, 
	is_control BOOLEAN, 
	stored_where VARCHAR, 
	moved_away_at VARCHAR, 
	outcome VARCHAR, 
	outcome_at VARCHAR, 
	outcome_note VARCHAR, 
	jar_back VARCHAR, 
	jar_back_at VARCHAR, 
	lid_back VARCHAR, 
	lid_back_at VARCHAR, 
	note VARCHAR, 
	changed VARCHAR NOT NULL, 
	undone BOOLEAN NOT NULL, 
	seen VARCHAR NOT NULL, 
	disputed VARCHAR, batch VARCHAR CONSTRAINT fk_jars_batch REFERENCES records (id) DEFERRABLE INITIALLY DEFERRED, shelf_c FLOAT, 
	CONSTRAINT pk_jars PRIMARY KEY (id), 
	CONSTRAINT fk_jars_id FOREIGN KEY(id) REFERENCES records (id) DEFERRABLE INITIALLY DEFERRED, 
	CONSTRAINT fk_jars_grain_batch FOREIGN KEY(grain_batch) REFERENCES records (id) DEFERRABLE INITIALLY DEFERRED, 
	CONSTRAINT fk_jars_lid_batch FOREIGN KEY(lid_batch) REFERENCES records (id) DEFERRABLE INITIALLY DEFERRED
)
 WITHOUT ROWID

;
INSERT INTO "jars" VALUES('a11ce0000000b00c','CT36','quart','2026-01-10T18:00:00.000000Z',NULL,NULL,0.66,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,'2026-01-10T18:00:00.000001Z',0,'5d1c0f2ab3e44702',NULL,NULL,NULL);
CREATE TABLE lid_batches (
	id VARCHAR NOT NULL, 
	name VARCHAR NOT NULL, 
	lot VARCHAR, 
	made_on VARCHAR, 
	lids BIGINT, 
	port VARCHAR, 
	filter VARCHAR, 
	cured_on VARCHAR, 
	uses BIGINT, 
	note VARCHAR, 
	changed VARCHAR NOT NULL, 
	undone BOOLEAN NOT NULL, 
	seen VARCHAR NOT NULL, 
	disputed VARCHAR, 
	CONSTRAINT pk_lid_batches PRIMARY KEY (id), 
	CONSTRAINT fk_lid_batches_id FOREIGN KEY(id) REFERENCES records (id) DEFERRABLE INITIALLY DEFERRED, 
	CONSTRAINT fk_lid_batches_lot FOREIGN KEY(lot) REFERENCES records (id) DEFERRABLE INITIALLY DEFERRED
)
 WITHOUT ROWID

;
CREATE TABLE links (
	parent INTEGER NOT NULL, 
	child INTEGER NOT NULL, 
	via INTEGER NOT NULL, 
	CONSTRAINT pk_links PRIMARY KEY (parent, child, via)
)
 WITHOUT ROWID

;
CREATE TABLE loads (
	id VARCHAR NOT NULL, 
	run VARCHAR NOT NULL, 
	jar VARCHAR, 
	spoiled_jar VARCHAR, 
	position VARCHAR, 
	changed VARCHAR NOT NULL, 
	undone BOOLEAN NOT NULL, 
	seen VARCHAR NOT NULL, 
	disputed VARCHAR, 
	CONSTRAINT pk_loads PRIMARY KEY (id), 
	CONSTRAINT fk_loads_id FOREIGN KEY(id) REFERENCES records (id) DEFERRABLE INITIALLY DEFERRED, 
	CONSTRAINT fk_loads_run FOREIGN KEY(run) REFERENCES records (id) DEFERRABLE INITIALLY DEFERRED, 
	CONSTRAINT fk_loads_jar FOREIGN KEY(jar) REFERENCES records (id) DEFERRABLE INITIALLY DEFERRED, 
	CONSTRAINT fk_loads_spoiled_jar FOREIGN KEY(spoiled_jar) REFERENCES records (id) DEFERRABLE INITIALLY DEFERRED
)
 WITHOUT ROWID

;
CREATE TABLE looks (
	id VARCHAR NOT NULL, 
	jar VARCHAR NOT NULL, 
	at VARCHAR NOT NULL, 
	percent FLOAT, 
	sign VARCHAR, 
	place VARCHAR, 
	smell VARCHAR, 
	note VARCHAR, 
	changed VARCHAR NOT NULL, 
	undone BOOLEAN NOT NULL, 
	seen VARCHAR NOT NULL, 
	disputed VARCHAR, 
	CONSTRAINT pk_looks PRIMARY KEY (id), 
	CONSTRAINT fk_looks_id FOREIGN KEY(id) REFERENCES records (id) DEFERRABLE INITIALLY DEFERRED, 
	CONSTRAINT fk_looks_jar FOREIGN KEY(jar) REFERENCES records (id) DEFERRABLE INITIALLY DEFERRED
)
 WITHOUT ROWID

;
CREATE TABLE lots (
	id VARCHAR NOT NULL, 
	name VARCHAR NOT NULL, 
	what VARCHAR NOT NULL, 
	from_whom VARCHAR, 
	bought_on VARCHAR, 
	note VARCHAR, 
	changed VARCHAR NOT NULL, 
	undone BOOLEAN NOT NULL, 
	seen VARCHAR NOT NULL, 
	disputed VARCHAR, 
	CONSTRAINT pk_lots PRIMARY KEY (id), 
	CONSTRAINT fk_lots_id FOREIGN KEY(id) REFERENCES records (id) DEFERRABLE INITIALLY DEFERRED
)
 WITHOUT ROWID

;
CREATE TABLE photos (
	id VARCHAR NOT NULL, 
	jar VARCHAR NOT NULL, 
	look VARCHAR, 
	taken_at VARCHAR NOT NULL, 
	content VARCHAR NOT NULL, 
	media_type VARCHAR, 
	width BIGINT, 
	height BIGINT, 
	note VARCHAR, 
	changed VARCHAR NOT NULL, 
	undone BOOLEAN NOT NULL, 
	seen VARCHAR NOT NULL, 
	disputed VARCHAR, 
	CONSTRAINT pk_photos PRIMARY KEY (id), 
	CONSTRAINT fk_photos_id FOREIGN KEY(id) REFERENCES records (id) DEFERRABLE INITIALLY DEFERRED, 
	CONSTRAINT fk_photos_jar FOREIGN KEY(jar) REFERENCES records (id) DEFERRABLE INITIALLY DEFERRED, 
	CONSTRAINT fk_photos_look FOREIGN KEY(look) REFERENCES records (id) DEFERRABLE INITIALLY DEFERRED, 
	CONSTRAINT fk_photos_content FOREIGN KEY(content) REFERENCES pictures (content) DEFERRABLE INITIALLY DEFERRED
)
 WITHOUT ROWID

;
INSERT INTO "photos" VALUES('a11ce0000000b00f','a11ce0000000b00c',NULL,'2026-01-11T18:00:00.000000Z','5d2316d6a1c4e1b922a3c9fc145c080793e62a85bf1583512f437ae10c8f0206','image/jpeg',4,3,NULL,'2026-01-11T18:00:00.000001Z',0,'5d1c0f2ab3e44704',NULL);
CREATE TABLE pictures (
	content VARCHAR NOT NULL, 
	media_type VARCHAR NOT NULL, 
	data BLOB NOT NULL, 
	CONSTRAINT pk_pictures PRIMARY KEY (content), 
	CONSTRAINT ck_pictures_content_length CHECK (length(content) = 64)
);
INSERT INTO "pictures" VALUES('5d2316d6a1c4e1b922a3c9fc145c080793e62a85bf1583512f437ae10c8f0206','image/jpeg',X'FFD8206E6F207265616C207069637475726520FFD9');
CREATE TABLE quarantines (
	id VARCHAR NOT NULL, 
	record VARCHAR NOT NULL, 
	at VARCHAR NOT NULL, 
	why VARCHAR NOT NULL, 
	lifted_at VARCHAR, 
	lifted_why VARCHAR, 
	changed VARCHAR NOT NULL, 
	undone BOOLEAN NOT NULL, 
	seen VARCHAR NOT NULL, 
	disputed VARCHAR, 
	CONSTRAINT pk_quarantines PRIMARY KEY (id), 
	CONSTRAINT fk_quarantines_id FOREIGN KEY(id) REFERENCES records (id) DEFERRABLE INITIALLY DEFERRED, 
	CONSTRAINT fk_quarantines_record FOREIGN KEY(record) REFERENCES records (id) DEFERRABLE INITIALLY DEFERRED
)
 WITHOUT ROWID

;
CREATE TABLE records (
	number INTEGER NOT NULL, 
	id VARCHAR NOT NULL, 
	kind VARCHAR NOT NULL, 
	CONSTRAINT pk_records PRIMARY KEY (number), 
	CONSTRAINT uq_records_id UNIQUE (id), 
	CONSTRAINT ck_records_id_length CHECK (length(id) BETWEEN 6 AND 64)
);
INSERT INTO "records" VALUES(1,'a11ce0000000b00c','jar');
INSERT INTO "records" VALUES(2,'a11ce0000000b00d','batch');
INSERT INTO "records" VALUES(3,'a11ce0000000b00e','task');
INSERT INTO "records" VALUES(4,'a11ce0000000b00f','photo');
CREATE TABLE runs (
	id VARCHAR NOT NULL, 
	started_at VARCHAR NOT NULL, 
	purpose VARCHAR NOT NULL, 
	vessel VARCHAR, 
	elevation_m FLOAT, 
	gauge_pa FLOAT, 
	hold_min FLOAT, 
	at_pressure_at VARCHAR, 
	off_at VARCHAR, 
	opened_at VARCHAR, 
	f0_low_min FLOAT, 
	f0_likely_min FLOAT, 
	f0_high_min FLOAT, 
	note VARCHAR, 
	changed VARCHAR NOT NULL, 
	undone BOOLEAN NOT NULL, 
	seen VARCHAR NOT NULL, 
	disputed VARCHAR, batch VARCHAR CONSTRAINT fk_runs_batch REFERENCES records (id) DEFERRABLE INITIALLY DEFERRED, 
	CONSTRAINT pk_runs PRIMARY KEY (id), 
	CONSTRAINT fk_runs_id FOREIGN KEY(id) REFERENCES records (id) DEFERRABLE INITIALLY DEFERRED
)
 WITHOUT ROWID

;
CREATE TABLE shakes (
	id VARCHAR NOT NULL, 
	jar VARCHAR NOT NULL, 
	at VARCHAR NOT NULL, 
	note VARCHAR, 
	changed VARCHAR NOT NULL, 
	undone BOOLEAN NOT NULL, 
	seen VARCHAR NOT NULL, 
	disputed VARCHAR, 
	CONSTRAINT pk_shakes PRIMARY KEY (id), 
	CONSTRAINT fk_shakes_id FOREIGN KEY(id) REFERENCES records (id) DEFERRABLE INITIALLY DEFERRED, 
	CONSTRAINT fk_shakes_jar FOREIGN KEY(jar) REFERENCES records (id) DEFERRABLE INITIALLY DEFERRED
)
 WITHOUT ROWID

;
CREATE TABLE steps (
	number INTEGER NOT NULL, 
	id VARCHAR NOT NULL, 
	at VARCHAR NOT NULL, 
	received VARCHAR NOT NULL, 
	who VARCHAR NOT NULL, 
	device VARCHAR NOT NULL, 
	title VARCHAR NOT NULL, 
	note VARCHAR, 
	undoes VARCHAR, 
	undone BOOLEAN NOT NULL, 
	CONSTRAINT pk_steps PRIMARY KEY (number), 
	CONSTRAINT uq_steps_id UNIQUE (id), 
	CONSTRAINT ck_steps_id_length CHECK (length(id) BETWEEN 6 AND 64)
);
INSERT INTO "steps" VALUES(1,'5d1c0f2ab3e44701','2026-01-10T18:00:00.000000Z','2026-01-10T18:00:00.000000Z','Ada','laptop','fill',NULL,NULL,0);
INSERT INTO "steps" VALUES(2,'5d1c0f2ab3e44702','2026-01-10T18:00:00.000000Z','2026-01-10T18:00:00.000001Z','Grace','phone','weigh again',NULL,NULL,0);
INSERT INTO "steps" VALUES(3,'5d1c0f2ab3e44703','2026-01-11T18:00:00.000000Z','2026-01-11T18:00:00.000000Z','Ada','laptop','start a batch',NULL,NULL,0);
INSERT INTO "steps" VALUES(4,'5d1c0f2ab3e44704','2026-01-11T18:00:00.000000Z','2026-01-11T18:00:00.000001Z','Ada','phone','photo',NULL,NULL,0);
CREATE TABLE stock_changes (
	id VARCHAR NOT NULL, 
	changed_on VARCHAR NOT NULL, 
	what VARCHAR NOT NULL, 
	item VARCHAR NOT NULL, 
	change BIGINT NOT NULL, 
	reason VARCHAR NOT NULL, 
	note VARCHAR, 
	changed VARCHAR NOT NULL, 
	undone BOOLEAN NOT NULL, 
	seen VARCHAR NOT NULL, 
	disputed VARCHAR, 
	CONSTRAINT pk_stock_changes PRIMARY KEY (id), 
	CONSTRAINT fk_stock_changes_id FOREIGN KEY(id) REFERENCES records (id) DEFERRABLE INITIALLY DEFERRED
)
 WITHOUT ROWID

;
CREATE TABLE strains (
	id VARCHAR NOT NULL, 
	name VARCHAR NOT NULL, 
	species VARCHAR NOT NULL, 
	from_whom VARCHAR, 
	note VARCHAR, 
	changed VARCHAR NOT NULL, 
	undone BOOLEAN NOT NULL, 
	seen VARCHAR NOT NULL, 
	disputed VARCHAR, 
	CONSTRAINT pk_strains PRIMARY KEY (id), 
	CONSTRAINT fk_strains_id FOREIGN KEY(id) REFERENCES records (id) DEFERRABLE INITIALLY DEFERRED
)
 WITHOUT ROWID

;
CREATE TABLE tasks (
	id VARCHAR NOT NULL, 
	batch VARCHAR NOT NULL, 
	"key" VARCHAR NOT NULL, 
	kind VARCHAR, 
	at VARCHAR NOT NULL, 
	until VARCHAR NOT NULL, 
	title VARCHAR NOT NULL, 
	detail VARCHAR, 
	cautions VARCHAR, 
	amounts VARCHAR, 
	is_attended BOOLEAN, 
	run BIGINT, 
	soak BIGINT, 
	done_at VARCHAR, 
	skipped_at VARCHAR, 
	note VARCHAR, 
	changed VARCHAR NOT NULL, 
	undone BOOLEAN NOT NULL, 
	seen VARCHAR NOT NULL, 
	disputed VARCHAR, 
	CONSTRAINT pk_tasks PRIMARY KEY (id), 
	CONSTRAINT fk_tasks_id FOREIGN KEY(id) REFERENCES records (id) DEFERRABLE INITIALLY DEFERRED, 
	CONSTRAINT fk_tasks_batch FOREIGN KEY(batch) REFERENCES records (id) DEFERRABLE INITIALLY DEFERRED
)
 WITHOUT ROWID

;
INSERT INTO "tasks" VALUES('a11ce0000000b00e','a11ce0000000b00d','soak-1','soak','2026-01-11T18:00:00.000000Z','2026-01-12T06:00:00.000000Z','Soak',NULL,'one
two','{"dry_grain_kg":2.5}',0,NULL,1,NULL,NULL,NULL,'2026-01-11T18:00:00.000000Z',0,'5d1c0f2ab3e44703',NULL);
CREATE TABLE traces (
	id VARCHAR NOT NULL, 
	run VARCHAR NOT NULL, 
	probe VARCHAR NOT NULL, 
	began_at VARCHAR NOT NULL, 
	file VARCHAR, 
	changed VARCHAR NOT NULL, 
	undone BOOLEAN NOT NULL, 
	seen VARCHAR NOT NULL, 
	disputed VARCHAR, 
	CONSTRAINT pk_traces PRIMARY KEY (id), 
	CONSTRAINT fk_traces_id FOREIGN KEY(id) REFERENCES records (id) DEFERRABLE INITIALLY DEFERRED, 
	CONSTRAINT fk_traces_run FOREIGN KEY(run) REFERENCES records (id) DEFERRABLE INITIALLY DEFERRED
)
 WITHOUT ROWID

;
CREATE TABLE uses (
	id VARCHAR NOT NULL, 
	jar VARCHAR NOT NULL, 
	block VARCHAR NOT NULL, 
	at VARCHAR NOT NULL, 
	spawn_kg FLOAT, 
	note VARCHAR, 
	changed VARCHAR NOT NULL, 
	undone BOOLEAN NOT NULL, 
	seen VARCHAR NOT NULL, 
	disputed VARCHAR, 
	CONSTRAINT pk_uses PRIMARY KEY (id), 
	CONSTRAINT fk_uses_id FOREIGN KEY(id) REFERENCES records (id) DEFERRABLE INITIALLY DEFERRED, 
	CONSTRAINT fk_uses_jar FOREIGN KEY(jar) REFERENCES records (id) DEFERRABLE INITIALLY DEFERRED, 
	CONSTRAINT fk_uses_block FOREIGN KEY(block) REFERENCES records (id) DEFERRABLE INITIALLY DEFERRED
)
 WITHOUT ROWID

;
CREATE INDEX ix_steps_undoes ON steps (undoes);
CREATE INDEX ix_steps_received_id ON steps (received, id);
CREATE INDEX ix_records_kind ON records (kind);
CREATE INDEX ix_entries_step ON entries (step);
CREATE INDEX ix_grain_batches_lot ON grain_batches (lot);
CREATE INDEX ix_lid_batches_lot ON lid_batches (lot);
CREATE INDEX ix_jars_grain_batch ON jars (grain_batch);
CREATE INDEX ix_jars_lid_batch ON jars (lid_batch);
CREATE INDEX ix_cultures_strain ON cultures (strain);
CREATE INDEX ix_cultures_lot ON cultures (lot);
CREATE INDEX ix_cultures_parent ON cultures (parent);
CREATE INDEX ix_cultures_from_jar ON cultures (from_jar);
CREATE INDEX ix_loads_run ON loads (run);
CREATE INDEX ix_loads_jar ON loads (jar);
CREATE INDEX ix_loads_spoiled_jar ON loads (spoiled_jar);
CREATE INDEX ix_events_run ON events (run);
CREATE INDEX ix_traces_run ON traces (run);
CREATE INDEX ix_inoculations_jar ON inoculations (jar);
CREATE INDEX ix_inoculations_culture ON inoculations (culture);
CREATE INDEX ix_inoculations_from_jar ON inoculations (from_jar);
CREATE INDEX ix_looks_jar ON looks (jar);
CREATE INDEX ix_shakes_jar ON shakes (jar);
CREATE INDEX ix_uses_jar ON uses (jar);
CREATE INDEX ix_uses_block ON uses (block);
CREATE INDEX ix_harvests_block ON harvests (block);
CREATE INDEX ix_costs_record ON costs (record);
CREATE INDEX ix_quarantines_record ON quarantines (record);
CREATE INDEX ix_links_child_parent ON links (child, parent);
CREATE INDEX ix_links_via ON links (via);
CREATE INDEX ix_jars_code ON jars (code);
CREATE INDEX ix_jars_shelf ON jars (undone, outcome, filled_at);
CREATE INDEX ix_jars_stock ON jars (undone, jar_kind, jar_back);
CREATE INDEX ix_jars_lids ON jars (undone, lid_back);
CREATE INDEX ix_looks_jar_at ON looks (jar, at);
CREATE INDEX ix_runs_started_at ON runs (started_at);
CREATE INDEX ix_forecasts_made_at ON forecasts (made_at);
CREATE INDEX ix_batches_strain ON batches (strain);
CREATE INDEX ix_tasks_batch ON tasks (batch);
CREATE INDEX ix_photos_jar ON photos (jar);
CREATE INDEX ix_photos_look ON photos (look);
CREATE INDEX ix_photos_content ON photos (content);
CREATE INDEX ix_tasks_due ON tasks (undone, done_at, skipped_at, at);
CREATE INDEX ix_jars_batch ON jars (batch);
CREATE INDEX ix_jars_by_batch ON jars (batch, undone, outcome);
CREATE INDEX ix_runs_batch ON runs (batch);
COMMIT;
