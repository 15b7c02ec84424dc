-- A database of the first landed version (commit 56e7ff8), with data, as SQLite dumps it. Never change it.
-- manager's pull then: {"head": 16, "count": 8, "digest": "f67a4189ba57f1a693f4faec583febc2a94f8bc7b426f38cf44f576ddad63acf"}
BEGIN TRANSACTION;
CREATE TABLE alembic_version (
	version_num VARCHAR(32) NOT NULL, 
	CONSTRAINT alembic_version_pkc PRIMARY KEY (version_num)
);
INSERT INTO "alembic_version" VALUES('0001');
CREATE TABLE device (
	site TEXT NOT NULL, 
	id TEXT NOT NULL, 
	person TEXT NOT NULL, 
	first_at TEXT NOT NULL, 
	seen_at TEXT NOT NULL, 
	unsent_operations INTEGER NOT NULL, 
	unsent_photos INTEGER NOT NULL, 
	unsent_since TEXT, 
	revoked_at TEXT, 
	CONSTRAINT pk_device PRIMARY KEY (site, id), 
	CONSTRAINT fk_device_person FOREIGN KEY(person) REFERENCES person (id), 
	CONSTRAINT fk_device_site FOREIGN KEY(site) REFERENCES site (id)
);
INSERT INTO "device" VALUES('b6a56979-cd90-45cc-81d8-f7256f0b0fba','c0afd51e-0efe-4838-9aac-d9b613c0e57a','38adb755-8a24-4733-bd61-ba8eb4b3957a','2026-11-27T01:55:11.902157Z','2026-11-27T01:55:11.902054Z',0,0,NULL,NULL);
INSERT INTO "device" VALUES('b6a56979-cd90-45cc-81d8-f7256f0b0fba','5f0066e9-9d09-4b5b-8000-8221ec8115fe','5fa90977-5a62-4bca-9a90-0fdece4e0fc1','2026-11-27T01:55:12.945158Z','2026-11-27T01:55:12.945097Z',0,0,NULL,NULL);
INSERT INTO "device" VALUES('b6a56979-cd90-45cc-81d8-f7256f0b0fba','bb03d756-84c1-4a4e-87ae-04b712f71885','3cdcc30b-4455-4e4e-bb32-4a6463635bad','2026-11-27T01:55:13.365180Z','2026-11-27T01:55:13.365123Z',0,0,NULL,NULL);
INSERT INTO "device" VALUES('b6a56979-cd90-45cc-81d8-f7256f0b0fba','d28de7cb-bad4-4f9d-b4a4-25d0901e4a65','d463e849-ba6b-4e7d-8b57-934d37bd2135','2026-11-27T01:55:14.769966Z','2026-11-27T01:55:14.769907Z',0,0,NULL,NULL);
CREATE TABLE membership (
	site TEXT NOT NULL, 
	person TEXT NOT NULL, 
	role TEXT NOT NULL, 
	changes INTEGER DEFAULT '0' NOT NULL, 
	since TEXT NOT NULL, 
	ended_at TEXT, 
	CONSTRAINT pk_membership PRIMARY KEY (site, person), 
	CONSTRAINT fk_membership_person FOREIGN KEY(person) REFERENCES person (id), 
	CONSTRAINT fk_membership_site FOREIGN KEY(site) REFERENCES site (id)
);
INSERT INTO "membership" VALUES('b6a56979-cd90-45cc-81d8-f7256f0b0fba','3cdcc30b-4455-4e4e-bb32-4a6463635bad','owner',0,'2026-11-27T01:55:11.106608Z',NULL);
INSERT INTO "membership" VALUES('b6a56979-cd90-45cc-81d8-f7256f0b0fba','38adb755-8a24-4733-bd61-ba8eb4b3957a','surveyor',0,'2026-11-27T01:55:11.290825Z',NULL);
INSERT INTO "membership" VALUES('b6a56979-cd90-45cc-81d8-f7256f0b0fba','d463e849-ba6b-4e7d-8b57-934d37bd2135','crew',0,'2026-11-27T01:55:11.291471Z',NULL);
INSERT INTO "membership" VALUES('b6a56979-cd90-45cc-81d8-f7256f0b0fba','5fa90977-5a62-4bca-9a90-0fdece4e0fc1','manager',0,'2026-11-27T01:55:11.291987Z',NULL);
CREATE TABLE operation (
	site TEXT NOT NULL, 
	id TEXT NOT NULL, 
	device TEXT NOT NULL, 
	person TEXT NOT NULL, 
	sender TEXT NOT NULL, 
	record TEXT NOT NULL, 
	facet TEXT NOT NULL, 
	seq INTEGER, 
	received_at TEXT NOT NULL, 
	place INTEGER NOT NULL, 
	hash TEXT NOT NULL, 
	body TEXT NOT NULL, 
	result TEXT NOT NULL, 
	code TEXT, 
	facts TEXT, 
	base TEXT, 
	lost TEXT, 
	formerly TEXT, 
	formerly_hash TEXT, 
	replaces TEXT, 
	CONSTRAINT pk_operation PRIMARY KEY (site, id), 
	CONSTRAINT fk_operation_site FOREIGN KEY(site) REFERENCES site (id)
);
INSERT INTO "operation" VALUES('b6a56979-cd90-45cc-81d8-f7256f0b0fba','246b9269-dd5b-4b3d-9550-4390201935ee.baa2eaba.1','246b9269-dd5b-4b3d-9550-4390201935ee','3cdcc30b-4455-4e4e-bb32-4a6463635bad','3cdcc30b-4455-4e4e-bb32-4a6463635bad','b6a56979-cd90-45cc-81d8-f7256f0b0fba','identity',1,'2026-11-27T01:55:11.203492Z',0,'fb6472375059cbdf8d0c5f7f6e187871421040ab2cfc3606c667214b29bd0c34','{"by":"3cdcc30b-4455-4e4e-bb32-4a6463635bad","device_time":"2026-11-27T01:55:11.161667Z","facet":"identity","from":null,"id":"246b9269-dd5b-4b3d-9550-4390201935ee.baa2eaba.1","kind":"set","record":"b6a56979-cd90-45cc-81d8-f7256f0b0fba","seen":null,"settles":[],"spec":1,"to":{"name":"Test building"},"type":"site"}','applied',NULL,NULL,'246b9269-dd5b-4b3d-9550-4390201935ee.baa2eaba.1',NULL,NULL,NULL,NULL);
INSERT INTO "operation" VALUES('b6a56979-cd90-45cc-81d8-f7256f0b0fba','246b9269-dd5b-4b3d-9550-4390201935ee.baa2eaba.2','246b9269-dd5b-4b3d-9550-4390201935ee','3cdcc30b-4455-4e4e-bb32-4a6463635bad','3cdcc30b-4455-4e4e-bb32-4a6463635bad','b6a56979-cd90-45cc-81d8-f7256f0b0fba','settings',2,'2026-11-27T01:55:11.203492Z',1,'39052da2cdac95f7f155f1d6f7c77c687feba410238fab843118aa32368605b9','{"by":"3cdcc30b-4455-4e4e-bb32-4a6463635bad","device_time":"2026-11-27T01:55:11.161667Z","facet":"settings","from":null,"id":"246b9269-dd5b-4b3d-9550-4390201935ee.baa2eaba.2","kind":"set","record":"b6a56979-cd90-45cc-81d8-f7256f0b0fba","seen":null,"settles":[],"spec":1,"to":{"units":"inches"},"type":"site"}','applied',NULL,NULL,'246b9269-dd5b-4b3d-9550-4390201935ee.baa2eaba.2',NULL,NULL,NULL,NULL);
INSERT INTO "operation" VALUES('b6a56979-cd90-45cc-81d8-f7256f0b0fba','c0afd51e-0efe-4838-9aac-d9b613c0e57a.0000000e.1','c0afd51e-0efe-4838-9aac-d9b613c0e57a','38adb755-8a24-4733-bd61-ba8eb4b3957a','38adb755-8a24-4733-bd61-ba8eb4b3957a','ed4095b1-5259-4095-b7f3-0c8c0e68f00f','identity',3,'2026-11-27T01:55:11.985675Z',0,'0145e84f3b66687006ca94dd019bcf0d08090969a738a22cbe316403e9c75a4b','{"by":"38adb755-8a24-4733-bd61-ba8eb4b3957a","device_time":"2026-03-01T09:00:00Z","facet":"identity","from":null,"id":"c0afd51e-0efe-4838-9aac-d9b613c0e57a.0000000e.1","kind":"set","record":"ed4095b1-5259-4095-b7f3-0c8c0e68f00f","seen":null,"settles":[],"spec":1,"to":{"name":"Ground","parent":"b6a56979-cd90-45cc-81d8-f7256f0b0fba"},"type":"floor"}','applied',NULL,NULL,'c0afd51e-0efe-4838-9aac-d9b613c0e57a.0000000e.1',NULL,NULL,NULL,NULL);
INSERT INTO "operation" VALUES('b6a56979-cd90-45cc-81d8-f7256f0b0fba','c0afd51e-0efe-4838-9aac-d9b613c0e57a.0000000e.2','c0afd51e-0efe-4838-9aac-d9b613c0e57a','38adb755-8a24-4733-bd61-ba8eb4b3957a','38adb755-8a24-4733-bd61-ba8eb4b3957a','21265fc5-8a4c-404f-8297-30fa3e2358dc','identity',4,'2026-11-27T01:55:12.096972Z',0,'5eed9ce570873ea0f98aff20a22af62ca5336e297fc5394462e136dfc7f215c2','{"by":"38adb755-8a24-4733-bd61-ba8eb4b3957a","device_time":"2026-03-01T09:00:00Z","facet":"identity","from":null,"id":"c0afd51e-0efe-4838-9aac-d9b613c0e57a.0000000e.2","kind":"set","record":"21265fc5-8a4c-404f-8297-30fa3e2358dc","seen":null,"settles":[],"spec":1,"to":{"number":"0","parent":"ed4095b1-5259-4095-b7f3-0c8c0e68f00f"},"type":"room"}','applied',NULL,NULL,'c0afd51e-0efe-4838-9aac-d9b613c0e57a.0000000e.2',NULL,NULL,NULL,NULL);
INSERT INTO "operation" VALUES('b6a56979-cd90-45cc-81d8-f7256f0b0fba','c0afd51e-0efe-4838-9aac-d9b613c0e57a.0000000e.3','c0afd51e-0efe-4838-9aac-d9b613c0e57a','38adb755-8a24-4733-bd61-ba8eb4b3957a','38adb755-8a24-4733-bd61-ba8eb4b3957a','d1d5a4b7-55df-48f4-a4b8-d13bf4dee4a0','identity',5,'2026-11-27T01:55:12.209633Z',0,'af1d3b096e3c655d1486ddcd631fffb3c5d2ef0043d520b42de4db1bb2d0e251','{"by":"38adb755-8a24-4733-bd61-ba8eb4b3957a","device_time":"2026-03-01T09:00:00Z","facet":"identity","from":null,"id":"c0afd51e-0efe-4838-9aac-d9b613c0e57a.0000000e.3","kind":"set","record":"d1d5a4b7-55df-48f4-a4b8-d13bf4dee4a0","seen":null,"settles":[],"spec":1,"to":{"number":"1","parent":"ed4095b1-5259-4095-b7f3-0c8c0e68f00f"},"type":"room"}','applied',NULL,NULL,'c0afd51e-0efe-4838-9aac-d9b613c0e57a.0000000e.3',NULL,NULL,NULL,NULL);
INSERT INTO "operation" VALUES('b6a56979-cd90-45cc-81d8-f7256f0b0fba','c0afd51e-0efe-4838-9aac-d9b613c0e57a.0000000e.4','c0afd51e-0efe-4838-9aac-d9b613c0e57a','38adb755-8a24-4733-bd61-ba8eb4b3957a','38adb755-8a24-4733-bd61-ba8eb4b3957a','20a7c632-6bc8-4b6a-bb6a-40ff97f3aebe','identity',6,'2026-11-27T01:55:12.305903Z',0,'767a4e277d4c3d4779686fee3e411b548256044c16a0586e78e330cc7e365e0b','{"by":"38adb755-8a24-4733-bd61-ba8eb4b3957a","device_time":"2026-03-01T09:00:00Z","facet":"identity","from":null,"id":"c0afd51e-0efe-4838-9aac-d9b613c0e57a.0000000e.4","kind":"set","record":"20a7c632-6bc8-4b6a-bb6a-40ff97f3aebe","seen":null,"settles":[],"spec":1,"to":{"number":"2","parent":"ed4095b1-5259-4095-b7f3-0c8c0e68f00f"},"type":"room"}','applied',NULL,NULL,'c0afd51e-0efe-4838-9aac-d9b613c0e57a.0000000e.4',NULL,NULL,NULL,NULL);
INSERT INTO "operation" VALUES('b6a56979-cd90-45cc-81d8-f7256f0b0fba','c0afd51e-0efe-4838-9aac-d9b613c0e57a.0000000e.5','c0afd51e-0efe-4838-9aac-d9b613c0e57a','38adb755-8a24-4733-bd61-ba8eb4b3957a','38adb755-8a24-4733-bd61-ba8eb4b3957a','21265fc5-8a4c-404f-8297-30fa3e2358dc','identity',7,'2026-11-27T01:55:12.508760Z',0,'30a629ad31638d0ca5afa392e3592500cfff0609fc5bf9d622d2731f4353cdfd','{"by":"38adb755-8a24-4733-bd61-ba8eb4b3957a","device_time":"2026-03-01T09:00:00Z","facet":"identity","from":null,"id":"c0afd51e-0efe-4838-9aac-d9b613c0e57a.0000000e.5","kind":"set","record":"21265fc5-8a4c-404f-8297-30fa3e2358dc","seen":"c0afd51e-0efe-4838-9aac-d9b613c0e57a.0000000e.2","settles":[],"spec":1,"to":{"number":"surveyor","parent":"ed4095b1-5259-4095-b7f3-0c8c0e68f00f"},"type":"room"}','applied',NULL,NULL,'c0afd51e-0efe-4838-9aac-d9b613c0e57a.0000000e.5',NULL,NULL,NULL,NULL);
INSERT INTO "operation" VALUES('b6a56979-cd90-45cc-81d8-f7256f0b0fba','5f0066e9-9d09-4b5b-8000-8221ec8115fe.0000000e.1','5f0066e9-9d09-4b5b-8000-8221ec8115fe','5fa90977-5a62-4bca-9a90-0fdece4e0fc1','5fa90977-5a62-4bca-9a90-0fdece4e0fc1','21265fc5-8a4c-404f-8297-30fa3e2358dc','identity',8,'2026-11-27T01:55:13.001857Z',0,'8c273d905d3cdf81b155706b2680ec96deaa82e2b9690c5a1cc1a7400c9a4af7','{"by":"5fa90977-5a62-4bca-9a90-0fdece4e0fc1","device_time":"2026-03-01T09:00:00Z","facet":"identity","from":null,"id":"5f0066e9-9d09-4b5b-8000-8221ec8115fe.0000000e.1","kind":"set","record":"21265fc5-8a4c-404f-8297-30fa3e2358dc","seen":"c0afd51e-0efe-4838-9aac-d9b613c0e57a.0000000e.2","settles":[],"spec":1,"to":{"number":"manager","parent":"ed4095b1-5259-4095-b7f3-0c8c0e68f00f"},"type":"room"}','conflict',NULL,NULL,'c0afd51e-0efe-4838-9aac-d9b613c0e57a.0000000e.2','5f0066e9-9d09-4b5b-8000-8221ec8115fe.0000000e.1',NULL,NULL,NULL);
INSERT INTO "operation" VALUES('b6a56979-cd90-45cc-81d8-f7256f0b0fba','bb03d756-84c1-4a4e-87ae-04b712f71885.0000000e.1','bb03d756-84c1-4a4e-87ae-04b712f71885','3cdcc30b-4455-4e4e-bb32-4a6463635bad','3cdcc30b-4455-4e4e-bb32-4a6463635bad','21265fc5-8a4c-404f-8297-30fa3e2358dc','identity',9,'2026-11-27T01:55:13.389827Z',0,'aa8e766ae770123332bb83a54d35b26408bde0951d28b30dc73f6ef2f9f7d0c6','{"by":"3cdcc30b-4455-4e4e-bb32-4a6463635bad","device_time":"2026-03-01T09:00:00Z","facet":"identity","from":null,"id":"bb03d756-84c1-4a4e-87ae-04b712f71885.0000000e.1","kind":"set","record":"21265fc5-8a4c-404f-8297-30fa3e2358dc","seen":"c0afd51e-0efe-4838-9aac-d9b613c0e57a.0000000e.2","settles":[],"spec":1,"to":{"number":"owner","parent":"ed4095b1-5259-4095-b7f3-0c8c0e68f00f"},"type":"room"}','conflict',NULL,NULL,'c0afd51e-0efe-4838-9aac-d9b613c0e57a.0000000e.2','bb03d756-84c1-4a4e-87ae-04b712f71885.0000000e.1',NULL,NULL,NULL);
INSERT INTO "operation" VALUES('b6a56979-cd90-45cc-81d8-f7256f0b0fba','5f0066e9-9d09-4b5b-8000-8221ec8115fe.0000000e.2','5f0066e9-9d09-4b5b-8000-8221ec8115fe','5fa90977-5a62-4bca-9a90-0fdece4e0fc1','5fa90977-5a62-4bca-9a90-0fdece4e0fc1','d1d5a4b7-55df-48f4-a4b8-d13bf4dee4a0','life',10,'2026-11-27T01:55:13.471275Z',0,'6bd71dd3923917f6986e78819cab3405d5c62b7e3143f5d9d5db893adee71155','{"by":"5fa90977-5a62-4bca-9a90-0fdece4e0fc1","device_time":"2026-03-01T09:00:00Z","facet":"life","from":null,"id":"5f0066e9-9d09-4b5b-8000-8221ec8115fe.0000000e.2","kind":"remove","record":"d1d5a4b7-55df-48f4-a4b8-d13bf4dee4a0","seen":{"identity":"c0afd51e-0efe-4838-9aac-d9b613c0e57a.0000000e.3"},"settles":[],"spec":1,"to":null,"type":"room"}','applied',NULL,NULL,'5f0066e9-9d09-4b5b-8000-8221ec8115fe.0000000e.2',NULL,NULL,NULL,NULL);
INSERT INTO "operation" VALUES('b6a56979-cd90-45cc-81d8-f7256f0b0fba','c0afd51e-0efe-4838-9aac-d9b613c0e57a.0000000e.6','c0afd51e-0efe-4838-9aac-d9b613c0e57a','38adb755-8a24-4733-bd61-ba8eb4b3957a','38adb755-8a24-4733-bd61-ba8eb4b3957a','10b56b2f-f954-48c6-b5eb-f2e0d8de5078','identity',11,'2026-11-27T01:55:13.601768Z',0,'afe438a6994f9749bd35a8c0e9c735a9ee5d558903fbbc4bf79b648fea186c3f','{"by":"38adb755-8a24-4733-bd61-ba8eb4b3957a","device_time":"2026-03-01T09:00:00Z","facet":"identity","from":null,"id":"c0afd51e-0efe-4838-9aac-d9b613c0e57a.0000000e.6","kind":"set","record":"10b56b2f-f954-48c6-b5eb-f2e0d8de5078","seen":null,"settles":[],"spec":1,"to":{"mark":"K1","parent":"b6a56979-cd90-45cc-81d8-f7256f0b0fba"},"type":"kind"}','applied',NULL,NULL,'c0afd51e-0efe-4838-9aac-d9b613c0e57a.0000000e.6',NULL,NULL,NULL,NULL);
INSERT INTO "operation" VALUES('b6a56979-cd90-45cc-81d8-f7256f0b0fba','c0afd51e-0efe-4838-9aac-d9b613c0e57a.0000000e.7','c0afd51e-0efe-4838-9aac-d9b613c0e57a','38adb755-8a24-4733-bd61-ba8eb4b3957a','38adb755-8a24-4733-bd61-ba8eb4b3957a','a2b9f0e1-a80c-42fb-8c59-d9ab88668c2f','identity',12,'2026-11-27T01:55:13.715059Z',0,'55b260dd6c92f830de9fe840a2be87953be6087189971e73e2f40f78caf8c0c7','{"by":"38adb755-8a24-4733-bd61-ba8eb4b3957a","device_time":"2026-03-01T09:00:00Z","facet":"identity","from":null,"id":"c0afd51e-0efe-4838-9aac-d9b613c0e57a.0000000e.7","kind":"set","record":"a2b9f0e1-a80c-42fb-8c59-d9ab88668c2f","seen":null,"settles":[],"spec":1,"to":{"kind":"10b56b2f-f954-48c6-b5eb-f2e0d8de5078","parent":"d1d5a4b7-55df-48f4-a4b8-d13bf4dee4a0"},"type":"group"}','applied',NULL,NULL,'c0afd51e-0efe-4838-9aac-d9b613c0e57a.0000000e.7',NULL,NULL,NULL,NULL);
INSERT INTO "operation" VALUES('b6a56979-cd90-45cc-81d8-f7256f0b0fba','c0afd51e-0efe-4838-9aac-d9b613c0e57a.0000000e.8','c0afd51e-0efe-4838-9aac-d9b613c0e57a','38adb755-8a24-4733-bd61-ba8eb4b3957a','38adb755-8a24-4733-bd61-ba8eb4b3957a','a2b9f0e1-a80c-42fb-8c59-d9ab88668c2f','count',14,'2026-11-27T01:55:13.857648Z',0,'5704c2aa73e218582245710a5ff9c7f483c407671a247b2e1943fb04eb5963fc','{"by":"38adb755-8a24-4733-bd61-ba8eb4b3957a","device_time":"2026-03-01T09:00:00Z","facet":"count","from":null,"id":"c0afd51e-0efe-4838-9aac-d9b613c0e57a.0000000e.8","kind":"set","record":"a2b9f0e1-a80c-42fb-8c59-d9ab88668c2f","seen":null,"settles":[],"spec":1,"to":{"count":12},"type":"group"}','applied',NULL,NULL,'c0afd51e-0efe-4838-9aac-d9b613c0e57a.0000000e.8',NULL,NULL,NULL,NULL);
INSERT INTO "operation" VALUES('b6a56979-cd90-45cc-81d8-f7256f0b0fba','c0afd51e-0efe-4838-9aac-d9b613c0e57a.0000000e.9','c0afd51e-0efe-4838-9aac-d9b613c0e57a','38adb755-8a24-4733-bd61-ba8eb4b3957a','38adb755-8a24-4733-bd61-ba8eb4b3957a','b651818d-5a74-41d6-806a-d3e286b549f7','identity',15,'2026-11-27T01:55:14.076260Z',0,'620afffc6201b1157a47ba5fa1c586e7020de0fbeddccbea424a5b2ed3b30692','{"by":"38adb755-8a24-4733-bd61-ba8eb4b3957a","device_time":"2026-03-01T09:00:00Z","facet":"identity","from":null,"id":"c0afd51e-0efe-4838-9aac-d9b613c0e57a.0000000e.9","kind":"set","record":"b651818d-5a74-41d6-806a-d3e286b549f7","seen":null,"settles":[],"spec":1,"to":{"kind":"10b56b2f-f954-48c6-b5eb-f2e0d8de5078","parent":"20a7c632-6bc8-4b6a-bb6a-40ff97f3aebe"},"type":"group"}','applied',NULL,NULL,'c0afd51e-0efe-4838-9aac-d9b613c0e57a.0000000e.9',NULL,NULL,NULL,NULL);
INSERT INTO "operation" VALUES('b6a56979-cd90-45cc-81d8-f7256f0b0fba','c0afd51e-0efe-4838-9aac-d9b613c0e57a.0000000e.10','c0afd51e-0efe-4838-9aac-d9b613c0e57a','38adb755-8a24-4733-bd61-ba8eb4b3957a','38adb755-8a24-4733-bd61-ba8eb4b3957a','b651818d-5a74-41d6-806a-d3e286b549f7','count',16,'2026-11-27T01:55:14.197883Z',0,'877572e04cbb92742f840a3090b50ac118682c19ec132d71f8d468945327c96d','{"by":"38adb755-8a24-4733-bd61-ba8eb4b3957a","device_time":"2026-03-01T09:00:00Z","facet":"count","from":null,"id":"c0afd51e-0efe-4838-9aac-d9b613c0e57a.0000000e.10","kind":"set","record":"b651818d-5a74-41d6-806a-d3e286b549f7","seen":null,"settles":[],"spec":1,"to":{"count":12},"type":"group"}','applied',NULL,NULL,'c0afd51e-0efe-4838-9aac-d9b613c0e57a.0000000e.10',NULL,NULL,NULL,NULL);
INSERT INTO "operation" VALUES('b6a56979-cd90-45cc-81d8-f7256f0b0fba','c0afd51e-0efe-4838-9aac-d9b613c0e57a.0000000e.11','c0afd51e-0efe-4838-9aac-d9b613c0e57a','38adb755-8a24-4733-bd61-ba8eb4b3957a','38adb755-8a24-4733-bd61-ba8eb4b3957a','6bce636f-499c-406e-8146-75cc28f6aa15','identity',NULL,'2026-11-27T01:55:14.286442Z',0,'9bcfd2931e850b2b724f121c4daa005c61f1a2d5eca34dee3acef5dc46cf0920','{"by":"38adb755-8a24-4733-bd61-ba8eb4b3957a","device_time":"2026-03-01T09:00:00Z","facet":"identity","from":null,"id":"c0afd51e-0efe-4838-9aac-d9b613c0e57a.0000000e.11","kind":"set","record":"6bce636f-499c-406e-8146-75cc28f6aa15","seen":null,"settles":[],"spec":1,"to":{"number":"lost","parent":"206ffe83-ce0c-4579-b0b2-f5e04d7b6f24"},"type":"room"}','refused','referred-record-missing','{"field":"parent","type":"room","value":"206ffe83-ce0c-4579-b0b2-f5e04d7b6f24"}',NULL,NULL,NULL,NULL,NULL);
INSERT INTO "operation" VALUES('b6a56979-cd90-45cc-81d8-f7256f0b0fba','d28de7cb-bad4-4f9d-b4a4-25d0901e4a65.0000000e.1','d28de7cb-bad4-4f9d-b4a4-25d0901e4a65','d463e849-ba6b-4e7d-8b57-934d37bd2135','d463e849-ba6b-4e7d-8b57-934d37bd2135','91670997-80f3-4e9f-913f-7e02e4fb7283','identity',NULL,'2026-11-27T01:55:14.795544Z',0,'507b38656725d82c1778ef0f0f80bc63a94e1c7d22c8d2dd6b8a683d714f4be5','{"by":"d463e849-ba6b-4e7d-8b57-934d37bd2135","device_time":"2026-03-01T09:00:00Z","facet":"identity","from":null,"id":"d28de7cb-bad4-4f9d-b4a4-25d0901e4a65.0000000e.1","kind":"set","record":"91670997-80f3-4e9f-913f-7e02e4fb7283","seen":null,"settles":[],"spec":1,"to":{"name":"no right","parent":"b6a56979-cd90-45cc-81d8-f7256f0b0fba"},"type":"floor"}','refused','no-right','{"facet":"Floor","right":["surveyor","manager","owner"],"role":"crew","type":"Floor"}',NULL,NULL,NULL,NULL,NULL);
CREATE TABLE person (
	id TEXT NOT NULL, 
	name TEXT NOT NULL, 
	name_key TEXT NOT NULL, 
	password_hash TEXT, 
	owner BOOLEAN NOT NULL, 
	created_at TEXT NOT NULL, 
	CONSTRAINT pk_person PRIMARY KEY (id), 
	CONSTRAINT uq_person_name_key UNIQUE (name_key)
);
INSERT INTO "person" VALUES('38adb755-8a24-4733-bd61-ba8eb4b3957a','surveyor','surveyor',NULL,0,'2026-11-27T01:55:09.606777Z');
INSERT INTO "person" VALUES('d463e849-ba6b-4e7d-8b57-934d37bd2135','crew','crew',NULL,0,'2026-11-27T01:55:10.153357Z');
INSERT INTO "person" VALUES('5fa90977-5a62-4bca-9a90-0fdece4e0fc1','manager','manager',NULL,0,'2026-11-27T01:55:10.453048Z');
INSERT INTO "person" VALUES('3cdcc30b-4455-4e4e-bb32-4a6463635bad','owner','owner',NULL,1,'2026-11-27T01:55:10.760774Z');
INSERT INTO "person" VALUES('b25bfe94-cd4e-4fcb-a23d-4008065bb4aa','stranger','stranger',NULL,0,'2026-11-27T01:55:11.047128Z');
CREATE TABLE photo (
	site TEXT NOT NULL, 
	sha256 TEXT NOT NULL, 
	bytes INTEGER NOT NULL, 
	width_px INTEGER NOT NULL, 
	height_px INTEGER NOT NULL, 
	person TEXT NOT NULL, 
	received_at TEXT NOT NULL, 
	CONSTRAINT pk_photo PRIMARY KEY (site, sha256), 
	CONSTRAINT fk_photo_person FOREIGN KEY(person) REFERENCES person (id), 
	CONSTRAINT fk_photo_site FOREIGN KEY(site) REFERENCES site (id)
);
INSERT INTO "photo" VALUES('b6a56979-cd90-45cc-81d8-f7256f0b0fba','9c90728712e56bc6e923093921c9c1c5ea41c8c4ba2b99a4d4bc3a3cc5e71529',772,16,12,'38adb755-8a24-4733-bd61-ba8eb4b3957a','2026-11-27T01:55:14.985298Z');
CREATE TABLE record (
	site TEXT NOT NULL, 
	id TEXT NOT NULL, 
	type TEXT NOT NULL, 
	parent TEXT, 
	seq INTEGER NOT NULL, 
	removed BOOLEAN NOT NULL, 
	facets TEXT NOT NULL, 
	conflicts TEXT NOT NULL, 
	CONSTRAINT pk_record PRIMARY KEY (site, id), 
	CONSTRAINT fk_record_site FOREIGN KEY(site) REFERENCES site (id)
);
INSERT INTO "record" VALUES('b6a56979-cd90-45cc-81d8-f7256f0b0fba','b6a56979-cd90-45cc-81d8-f7256f0b0fba','site',NULL,2,0,'{"identity":{"at":"2026-11-27T01:55:11.161667Z","by":"3cdcc30b-4455-4e4e-bb32-4a6463635bad","op":"246b9269-dd5b-4b3d-9550-4390201935ee.baa2eaba.1","seq":1,"value":{"name":"Test building"}},"settings":{"at":"2026-11-27T01:55:11.161667Z","by":"3cdcc30b-4455-4e4e-bb32-4a6463635bad","op":"246b9269-dd5b-4b3d-9550-4390201935ee.baa2eaba.2","seq":2,"value":{"units":"inches"}}}','[]');
INSERT INTO "record" VALUES('b6a56979-cd90-45cc-81d8-f7256f0b0fba','ed4095b1-5259-4095-b7f3-0c8c0e68f00f','floor','b6a56979-cd90-45cc-81d8-f7256f0b0fba',3,0,'{"identity":{"at":"2026-03-01T09:00:00Z","by":"38adb755-8a24-4733-bd61-ba8eb4b3957a","op":"c0afd51e-0efe-4838-9aac-d9b613c0e57a.0000000e.1","seq":3,"value":{"name":"Ground","parent":"b6a56979-cd90-45cc-81d8-f7256f0b0fba"}}}','[]');
INSERT INTO "record" VALUES('b6a56979-cd90-45cc-81d8-f7256f0b0fba','21265fc5-8a4c-404f-8297-30fa3e2358dc','room','ed4095b1-5259-4095-b7f3-0c8c0e68f00f',9,0,'{"identity":{"at":"2026-03-01T09:00:00Z","by":"38adb755-8a24-4733-bd61-ba8eb4b3957a","op":"c0afd51e-0efe-4838-9aac-d9b613c0e57a.0000000e.5","seq":7,"value":{"number":"surveyor","parent":"ed4095b1-5259-4095-b7f3-0c8c0e68f00f"}}}','[{"at":"2026-03-01T09:00:00Z","by":"5fa90977-5a62-4bca-9a90-0fdece4e0fc1","device":"5f0066e9-9d09-4b5b-8000-8221ec8115fe","facet":"identity","id":"5f0066e9-9d09-4b5b-8000-8221ec8115fe.0000000e.1","kind":"set","op":"5f0066e9-9d09-4b5b-8000-8221ec8115fe.0000000e.1","seq":8,"value":{"number":"manager","parent":"ed4095b1-5259-4095-b7f3-0c8c0e68f00f"}},{"at":"2026-03-01T09:00:00Z","by":"3cdcc30b-4455-4e4e-bb32-4a6463635bad","device":"bb03d756-84c1-4a4e-87ae-04b712f71885","facet":"identity","id":"bb03d756-84c1-4a4e-87ae-04b712f71885.0000000e.1","kind":"set","op":"bb03d756-84c1-4a4e-87ae-04b712f71885.0000000e.1","seq":9,"value":{"number":"owner","parent":"ed4095b1-5259-4095-b7f3-0c8c0e68f00f"}}]');
INSERT INTO "record" VALUES('b6a56979-cd90-45cc-81d8-f7256f0b0fba','d1d5a4b7-55df-48f4-a4b8-d13bf4dee4a0','room','ed4095b1-5259-4095-b7f3-0c8c0e68f00f',13,1,'{"identity":{"at":"2026-03-01T09:00:00Z","by":"38adb755-8a24-4733-bd61-ba8eb4b3957a","op":"c0afd51e-0efe-4838-9aac-d9b613c0e57a.0000000e.3","seq":5,"value":{"number":"1","parent":"ed4095b1-5259-4095-b7f3-0c8c0e68f00f"}},"life":{"at":"2026-03-01T09:00:00Z","by":"5fa90977-5a62-4bca-9a90-0fdece4e0fc1","op":"5f0066e9-9d09-4b5b-8000-8221ec8115fe.0000000e.2","seq":10,"value":{"removed":true}}}','[{"at":"2026-03-01T09:00:00Z","by":"38adb755-8a24-4733-bd61-ba8eb4b3957a","child":"a2b9f0e1-a80c-42fb-8c59-d9ab88668c2f","device":"c0afd51e-0efe-4838-9aac-d9b613c0e57a","facet":"life","id":"c0afd51e-0efe-4838-9aac-d9b613c0e57a.0000000e.7","kind":"child","op":"c0afd51e-0efe-4838-9aac-d9b613c0e57a.0000000e.7","seq":13,"value":{"removed":false}}]');
INSERT INTO "record" VALUES('b6a56979-cd90-45cc-81d8-f7256f0b0fba','20a7c632-6bc8-4b6a-bb6a-40ff97f3aebe','room','ed4095b1-5259-4095-b7f3-0c8c0e68f00f',6,0,'{"identity":{"at":"2026-03-01T09:00:00Z","by":"38adb755-8a24-4733-bd61-ba8eb4b3957a","op":"c0afd51e-0efe-4838-9aac-d9b613c0e57a.0000000e.4","seq":6,"value":{"number":"2","parent":"ed4095b1-5259-4095-b7f3-0c8c0e68f00f"}}}','[]');
INSERT INTO "record" VALUES('b6a56979-cd90-45cc-81d8-f7256f0b0fba','10b56b2f-f954-48c6-b5eb-f2e0d8de5078','kind','b6a56979-cd90-45cc-81d8-f7256f0b0fba',11,0,'{"identity":{"at":"2026-03-01T09:00:00Z","by":"38adb755-8a24-4733-bd61-ba8eb4b3957a","op":"c0afd51e-0efe-4838-9aac-d9b613c0e57a.0000000e.6","seq":11,"value":{"mark":"K1","parent":"b6a56979-cd90-45cc-81d8-f7256f0b0fba"}}}','[]');
INSERT INTO "record" VALUES('b6a56979-cd90-45cc-81d8-f7256f0b0fba','a2b9f0e1-a80c-42fb-8c59-d9ab88668c2f','group','d1d5a4b7-55df-48f4-a4b8-d13bf4dee4a0',14,0,'{"count":{"at":"2026-03-01T09:00:00Z","by":"38adb755-8a24-4733-bd61-ba8eb4b3957a","op":"c0afd51e-0efe-4838-9aac-d9b613c0e57a.0000000e.8","seq":14,"value":{"count":12}},"identity":{"at":"2026-03-01T09:00:00Z","by":"38adb755-8a24-4733-bd61-ba8eb4b3957a","op":"c0afd51e-0efe-4838-9aac-d9b613c0e57a.0000000e.7","seq":12,"value":{"kind":"10b56b2f-f954-48c6-b5eb-f2e0d8de5078","parent":"d1d5a4b7-55df-48f4-a4b8-d13bf4dee4a0"}}}','[]');
INSERT INTO "record" VALUES('b6a56979-cd90-45cc-81d8-f7256f0b0fba','b651818d-5a74-41d6-806a-d3e286b549f7','group','20a7c632-6bc8-4b6a-bb6a-40ff97f3aebe',16,0,'{"count":{"at":"2026-03-01T09:00:00Z","by":"38adb755-8a24-4733-bd61-ba8eb4b3957a","op":"c0afd51e-0efe-4838-9aac-d9b613c0e57a.0000000e.10","seq":16,"value":{"count":12}},"identity":{"at":"2026-03-01T09:00:00Z","by":"38adb755-8a24-4733-bd61-ba8eb4b3957a","op":"c0afd51e-0efe-4838-9aac-d9b613c0e57a.0000000e.9","seq":15,"value":{"kind":"10b56b2f-f954-48c6-b5eb-f2e0d8de5078","parent":"20a7c632-6bc8-4b6a-bb6a-40ff97f3aebe"}}}','[]');
CREATE TABLE server (
	id INTEGER NOT NULL, 
	incarnation TEXT NOT NULL, 
	CONSTRAINT pk_server PRIMARY KEY (id)
);
INSERT INTO "server" VALUES(1,'246b9269-dd5b-4b3d-9550-4390201935ee');
CREATE TABLE session (
	token_hash TEXT NOT NULL, 
	person TEXT NOT NULL, 
	created_at TEXT NOT NULL, 
	expires_at TEXT NOT NULL, 
	CONSTRAINT pk_session PRIMARY KEY (token_hash), 
	CONSTRAINT fk_session_person FOREIGN KEY(person) REFERENCES person (id)
);
CREATE TABLE sign_in_attempt (
	id INTEGER NOT NULL, 
	name_key TEXT NOT NULL, 
	address TEXT NOT NULL, 
	at TEXT NOT NULL, 
	CONSTRAINT pk_sign_in_attempt PRIMARY KEY (id)
);
CREATE TABLE site (
	id TEXT NOT NULL, 
	head INTEGER NOT NULL, 
	created_at TEXT NOT NULL, 
	backed_up INTEGER DEFAULT '0' NOT NULL, 
	CONSTRAINT pk_site PRIMARY KEY (id)
);
INSERT INTO "site" VALUES('b6a56979-cd90-45cc-81d8-f7256f0b0fba',16,'2026-11-27T01:55:11.047965Z',0);
CREATE INDEX ix_sign_in_attempt_address_at ON sign_in_attempt (address, at);
CREATE INDEX ix_sign_in_attempt_name_key_at ON sign_in_attempt (name_key, at);
CREATE INDEX ix_device_id ON device (id);
CREATE INDEX ix_membership_person ON membership (person);
CREATE INDEX ix_operation_formerly ON operation (site, formerly) WHERE formerly IS NOT NULL;
CREATE INDEX ix_operation_held ON operation (site, received_at) WHERE result = 'held';
CREATE INDEX ix_operation_replaces ON operation (site, replaces) WHERE replaces IS NOT NULL;
CREATE INDEX ix_operation_site_record ON operation (site, record);
CREATE INDEX ix_record_site_parent ON record (site, parent);
CREATE INDEX ix_record_site_seq ON record (site, seq);
CREATE INDEX ix_session_person ON session (person);
COMMIT;
