BEGIN TRANSACTION;
CREATE TABLE alembic_version (
	version_num VARCHAR(32) NOT NULL, 
	CONSTRAINT alembic_version_pkc PRIMARY KEY (version_num)
);
INSERT INTO "alembic_version" VALUES('0002');
CREATE TABLE curves (
	player VARCHAR(40) NOT NULL, 
	tune VARCHAR(80) NOT NULL, 
	tier VARCHAR(16) NOT NULL, 
	measure INTEGER NOT NULL, 
	passes INTEGER NOT NULL, 
	updated VARCHAR(32) NOT NULL, 
	weights BLOB NOT NULL, 
	CONSTRAINT pk_curves PRIMARY KEY (player, tune, tier, measure), 
	CONSTRAINT fk_curves_player FOREIGN KEY(player) REFERENCES players (id) ON DELETE CASCADE, 
	CONSTRAINT fk_curves_tune FOREIGN KEY(tune) REFERENCES tunes (id)
);
INSERT INTO "curves" VALUES('home','mill-lane-1f3a9c20','beginner',1,3,'2026-03-01T23:59:59Z',X'00010203');
INSERT INTO "curves" VALUES('sedge','mill-lane-1f3a9c20','beginner',1,1,'2026-03-02T19:00:00Z',X'FF');
CREATE TABLE ladders (
	player VARCHAR(40) NOT NULL, 
	tune VARCHAR(80) NOT NULL, 
	state TEXT NOT NULL, 
	updated VARCHAR(32) NOT NULL, 
	CONSTRAINT pk_ladders PRIMARY KEY (player, tune), 
	CONSTRAINT fk_ladders_player FOREIGN KEY(player) REFERENCES players (id) ON DELETE CASCADE, 
	CONSTRAINT fk_ladders_tune FOREIGN KEY(tune) REFERENCES tunes (id)
);
INSERT INTO "ladders" VALUES('home','mill-lane-1f3a9c20','{"tempo": 78.0}','2026-03-01T18:01:00Z');
CREATE TABLE "measures" (
	pass INTEGER NOT NULL, 
	number INTEGER NOT NULL, 
	expected INTEGER NOT NULL, 
	played INTEGER NOT NULL, 
	wrong INTEGER NOT NULL, 
	extra INTEGER NOT NULL, 
	off_time INTEGER NOT NULL, 
	mean_offset_ms FLOAT, 
	clean BOOLEAN NOT NULL, 
	CONSTRAINT pk_measures PRIMARY KEY (pass, number), 
	CONSTRAINT fk_measures_pass FOREIGN KEY(pass) REFERENCES passes (id) ON DELETE CASCADE
)
 WITHOUT ROWID

;
INSERT INTO "measures" VALUES(1,1,8,8,0,0,0,-2.5,1);
INSERT INTO "measures" VALUES(1,2,8,8,0,0,0,-1.5,1);
INSERT INTO "measures" VALUES(1,3,8,8,0,0,0,-0.5,1);
INSERT INTO "measures" VALUES(1,4,8,8,0,0,0,0.5,1);
INSERT INTO "measures" VALUES(2,1,8,8,0,0,0,-2.5,1);
INSERT INTO "measures" VALUES(2,2,8,8,0,0,0,-1.5,1);
INSERT INTO "measures" VALUES(2,3,8,7,0,0,1,NULL,0);
INSERT INTO "measures" VALUES(2,4,8,8,0,0,0,0.5,1);
INSERT INTO "measures" VALUES(3,2,8,8,0,0,0,-1.5,1);
INSERT INTO "measures" VALUES(3,3,8,8,0,0,0,-0.5,1);
INSERT INTO "measures" VALUES(5,1,8,8,0,0,0,-2.5,1);
INSERT INTO "measures" VALUES(5,2,8,8,0,0,0,-1.5,1);
INSERT INTO "measures" VALUES(5,3,8,8,0,0,0,-0.5,1);
INSERT INTO "measures" VALUES(5,4,8,8,0,0,0,0.5,1);
CREATE TABLE "passes" (
	id INTEGER NOT NULL, 
	player VARCHAR(40) NOT NULL, 
	tune VARCHAR(80) NOT NULL, 
	digest VARCHAR(64) NOT NULL, 
	tier VARCHAR(16) NOT NULL, 
	tempo FLOAT NOT NULL, 
	goal FLOAT NOT NULL, 
	first INTEGER NOT NULL, 
	last INTEGER NOT NULL, 
	began VARCHAR(32) NOT NULL, 
	seconds FLOAT NOT NULL, 
	whole BOOLEAN NOT NULL, 
	clean BOOLEAN NOT NULL, 
	judged VARCHAR(8) NOT NULL, 
	kept_going BOOLEAN, 
	folder VARCHAR(80) NOT NULL, 
	number INTEGER NOT NULL, 
	scoring INTEGER NOT NULL, 
	mix TEXT NOT NULL, 
	kind VARCHAR(8) NOT NULL, 
	day VARCHAR(10) NOT NULL, 
	CONSTRAINT pk_passes PRIMARY KEY (id), 
	CONSTRAINT fk_passes_player FOREIGN KEY(player) REFERENCES players (id) ON DELETE CASCADE, 
	CONSTRAINT fk_passes_tune FOREIGN KEY(tune) REFERENCES tunes (id), 
	CONSTRAINT uq_passes_folder UNIQUE (folder, number), 
	CONSTRAINT ck_passes_tempo CHECK (tempo > 0), 
	CONSTRAINT ck_passes_judged CHECK (judged in ('heard', 'marked', 'freely')), 
	CONSTRAINT ck_passes_kind CHECK (kind in ('whole', 'part', 'spot', 'warm-up', 'known', 'jam'))
);
INSERT INTO "passes" VALUES(1,'home','mill-lane-1f3a9c20','abababababababababababababababababababababababababababababababab','beginner',72.0,120.0,1,4,'2026-03-01T18:00:00Z',12.5,1,1,'heard',1,'20260301T175940-home',1,3,'','whole','2026-03-01');
INSERT INTO "passes" VALUES(2,'home','mill-lane-1f3a9c20','abababababababababababababababababababababababababababababababab','beginner',76.0,120.0,1,4,'2026-03-01T18:01:00Z',12.5,1,0,'heard',1,'20260301T175940-home',2,3,'2 4','spot','2026-03-01');
INSERT INTO "passes" VALUES(3,'home','mill-lane-1f3a9c20','abababababababababababababababababababababababababababababababab','beginner',66.0,120.0,2,3,'2026-03-01T23:59:59Z',12.5,1,1,'heard',1,'20260301T175940-home',3,3,'','part','2026-03-01');
INSERT INTO "passes" VALUES(4,'home','the-rainy-road-0b77c1de','cdcdcdcdcdcdcdcdcdcdcdcdcdcdcdcdcdcdcdcdcdcdcdcdcdcdcdcdcdcdcdcd','intermediate',60.5,120.0,0,2,'2026-03-02T18:00:00Z',12.5,0,0,'marked',NULL,'20260302T175940-home',1,3,'','whole','2026-03-02');
INSERT INTO "passes" VALUES(5,'sedge','mill-lane-1f3a9c20','abababababababababababababababababababababababababababababababab','beginner',80.0,120.0,1,4,'2026-03-02T19:00:00Z',12.5,1,1,'freely',1,'20260302T185940-sedge',1,3,'','whole','2026-03-02');
CREATE TABLE players (
	id VARCHAR(40) NOT NULL, 
	name TEXT NOT NULL, 
	began VARCHAR(32) NOT NULL, 
	CONSTRAINT pk_players PRIMARY KEY (id)
);
INSERT INTO "players" VALUES('home','home','2026-03-01T18:00:00Z');
INSERT INTO "players" VALUES('sedge','sedge','2026-03-02T19:00:00Z');
CREATE TABLE settings (
	player VARCHAR(40) NOT NULL, 
	name VARCHAR(40) NOT NULL, 
	value TEXT NOT NULL, 
	CONSTRAINT pk_settings PRIMARY KEY (player, name), 
	CONSTRAINT fk_settings_player FOREIGN KEY(player) REFERENCES players (id) ON DELETE CASCADE
);
INSERT INTO "settings" VALUES('home','bounce','55');
INSERT INTO "settings" VALUES('home','tune','"mill-lane-1f3a9c20"');
CREATE TABLE sittings (
	player VARCHAR(40) NOT NULL, 
	began VARCHAR(32) NOT NULL, 
	planned FLOAT, 
	minutes FLOAT NOT NULL, 
	tempo FLOAT, 
	CONSTRAINT pk_sittings PRIMARY KEY (player, began), 
	CONSTRAINT fk_sittings_player FOREIGN KEY(player) REFERENCES players (id) ON DELETE CASCADE
);
INSERT INTO "sittings" VALUES('home','2026-03-01T18:00:00Z',20.0,12.5,84.0);
INSERT INTO "sittings" VALUES('home','2026-03-02T18:00:00Z',NULL,3.0,NULL);
CREATE TABLE "tunes" (
	id VARCHAR(80) NOT NULL, 
	title TEXT NOT NULL, 
	repeats TEXT NOT NULL, 
	CONSTRAINT pk_tunes PRIMARY KEY (id)
);
INSERT INTO "tunes" VALUES('mill-lane-1f3a9c20','Mill Lane','3=1 4=2');
INSERT INTO "tunes" VALUES('the-rainy-road-0b77c1de','The Rainy Road','');
CREATE INDEX ix_passes_player_began ON passes (player, began);
CREATE INDEX ix_passes_player_tune ON passes (player, tune, began);
CREATE INDEX ix_passes_player_day ON passes (player, day, tune, seconds);
COMMIT;
