BEGIN TRANSACTION;
CREATE TABLE "_sqlite_migrations" (
   "id" INTEGER PRIMARY KEY,
   "migration_set" TEXT,
   "name" TEXT,
   "applied_at" TEXT
);
INSERT INTO "_sqlite_migrations" VALUES(1,'drumside','0001_bench','2026-11-25 09:19:03.745498+00:00');
CREATE TABLE batch (
  id TEXT PRIMARY KEY, code TEXT NOT NULL CHECK (length(code) BETWEEN 1 AND 40),
  product_id TEXT NOT NULL REFERENCES product(id), machine_id TEXT NOT NULL REFERENCES machine(id),
  lot TEXT NOT NULL DEFAULT '', green_g INTEGER CHECK (green_g > 0),
  roasted_g INTEGER CHECK (roasted_g > 0), drop_decicelsius INTEGER,
  total_s INTEGER CHECK (total_s > 0), development_s INTEGER CHECK (development_s >= 0),
  note TEXT NOT NULL DEFAULT '', day TEXT NOT NULL, roasted_at TEXT NOT NULL,
  person_id TEXT NOT NULL REFERENCES person(id), tablet_id TEXT NOT NULL REFERENCES tablet(id),
  made_at TEXT NOT NULL, received_at TEXT NOT NULL,
  CHECK (roasted_g IS NULL OR green_g IS NULL OR roasted_g <= green_g)
) STRICT;
INSERT INTO "batch" VALUES('bcd2736c-7834-452e-988f-e4854c8a2b76','0514-01','224a65e6-1c3f-45ff-aecf-a2b8528cd617','f65636ad-03c8-4399-a726-3a964617b94a','Lot 1',12000,10200,2050,690,105,'','2026-05-14','2026-05-14T09:00:00.000Z','51bed3d5-7071-40c7-9982-f001c38c5cbe','e2a98dcb-ddec-4e20-a580-ac37dbcac7ac','2026-05-14T09:00:00.000Z','2026-05-14T09:00:00.000Z');
INSERT INTO "batch" VALUES('50d50619-511b-4865-873a-f055b2002dd4','0514-02','224a65e6-1c3f-45ff-aecf-a2b8528cd617','f65636ad-03c8-4399-a726-3a964617b94a','Lot 1',12000,10200,2050,690,105,'','2026-05-14','2026-05-14T09:20:00.000Z','51bed3d5-7071-40c7-9982-f001c38c5cbe','e2a98dcb-ddec-4e20-a580-ac37dbcac7ac','2026-05-14T09:20:00.000Z','2026-05-14T09:20:00.000Z');
CREATE TABLE batch_result (
  batch_id TEXT PRIMARY KEY REFERENCES batch(id),
  verdict TEXT NOT NULL CHECK (verdict IN ('incomplete','inside','undecided','outside','unjudged')),
  chance REAL, missing TEXT NOT NULL DEFAULT ''
) STRICT;
INSERT INTO "batch_result" VALUES('50d50619-511b-4865-873a-f055b2002dd4','incomplete',3.08165361583557680102e-02,'ground difference');
INSERT INTO "batch_result" VALUES('bcd2736c-7834-452e-988f-e4854c8a2b76','inside',9.5175377645260939019e-01,'');
CREATE TABLE correction (
  id TEXT PRIMARY KEY, sample_id TEXT NOT NULL, fill_no INTEGER NOT NULL, reading_no INTEGER NOT NULL,
  value INTEGER, reason TEXT NOT NULL CHECK (length(reason) > 0),
  person_id TEXT NOT NULL REFERENCES person(id), tablet_id TEXT NOT NULL REFERENCES tablet(id),
  made_at TEXT NOT NULL, received_at TEXT NOT NULL,
  FOREIGN KEY (sample_id, fill_no, reading_no) REFERENCES reading(sample_id, fill_no, no)
) STRICT;
INSERT INTO "correction" VALUES('b404c128-a888-4aba-9b74-2cf17b2ba172','c3add677-f104-4aee-a496-43004eba72a7',1,3,5620,'Read the wrong digit.','51bed3d5-7071-40c7-9982-f001c38c5cbe','e2a98dcb-ddec-4e20-a580-ac37dbcac7ac','2026-05-14T09:40:00.000Z','2026-05-14T09:40:00.000Z');
CREATE TABLE decision (
  id TEXT PRIMARY KEY, batch_id TEXT NOT NULL REFERENCES batch(id),
  what TEXT NOT NULL CHECK (what IN ('release','hold','reject','concession')),
  reason TEXT NOT NULL DEFAULT '', verdict TEXT NOT NULL,
  person_id TEXT NOT NULL REFERENCES person(id), tablet_id TEXT NOT NULL REFERENCES tablet(id),
  made_at TEXT NOT NULL, received_at TEXT NOT NULL,
  CHECK (what <> 'concession' OR length(reason) > 0)
) STRICT;
INSERT INTO "decision" VALUES('b3b4d026-2cb5-41ea-a200-088042ccf666','bcd2736c-7834-452e-988f-e4854c8a2b76','release','','inside','51bed3d5-7071-40c7-9982-f001c38c5cbe','e2a98dcb-ddec-4e20-a580-ac37dbcac7ac','2026-05-14T09:50:00.000Z','2026-05-14T09:50:00.000Z');
CREATE TABLE grinder (
  id TEXT PRIMARY KEY, name TEXT NOT NULL CHECK (length(name) BETWEEN 1 AND 60),
  active INTEGER NOT NULL DEFAULT 1 CHECK (active IN (0,1)), created_at TEXT NOT NULL
) STRICT;
INSERT INTO "grinder" VALUES('da2617f2-7aab-42c7-9033-60a28ffbf827','Grinder 1',1,'2026-01-05T08:00:00.000Z');
CREATE TABLE grinder_setting (
  id TEXT PRIMARY KEY, grinder_id TEXT NOT NULL REFERENCES grinder(id),
  name TEXT NOT NULL CHECK (length(name) BETWEEN 1 AND 60), created_at TEXT NOT NULL,
  UNIQUE (grinder_id, name)
) STRICT;
INSERT INTO "grinder_setting" VALUES('a6303778-7058-4390-bd3d-8b7c8a7be37a','da2617f2-7aab-42c7-9033-60a28ffbf827','7','2026-01-05T08:00:00.000Z');
CREATE TABLE ledger (
  seq INTEGER PRIMARY KEY, at TEXT NOT NULL, person_id TEXT, tablet_id TEXT, action TEXT NOT NULL,
  kind TEXT NOT NULL, record_id TEXT NOT NULL, content_hash TEXT NOT NULL,
  previous_hash TEXT NOT NULL, hash TEXT NOT NULL
) STRICT;
INSERT INTO "ledger" VALUES(1,'2026-01-05T08:00:00.000Z',NULL,NULL,'site changed','site','1','5dc11a57ca6ce33712b0b4b1abdf49efc5a4647ff044bf812a061374b3d1f832','0000000000000000000000000000000000000000000000000000000000000000','84ada1ed5cdb2aea2f064504bfa6d2fddd59000c537c472d576cce30fe932abf');
INSERT INTO "ledger" VALUES(2,'2026-01-05T08:00:00.000Z',NULL,NULL,'person added','person','28639135-b7fe-4b70-bf13-5df96c8705f1','9f874ba220baa0a72a19fff0d443f01ec20877358295980b8d8eb628add94815','84ada1ed5cdb2aea2f064504bfa6d2fddd59000c537c472d576cce30fe932abf','d051e8ba1ff1829a409d060ce61dd899fe50f0864790c9784cb009204345853a');
INSERT INTO "ledger" VALUES(3,'2026-01-05T08:00:00.000Z',NULL,NULL,'person added','person','51bed3d5-7071-40c7-9982-f001c38c5cbe','70f9210ce18bccd12bcad5ae6b601a9132ea799a7771f488f6fb8c74495d2255','d051e8ba1ff1829a409d060ce61dd899fe50f0864790c9784cb009204345853a','d87e758c081a6192d77d6bfcfe204f5dd80536ede7c0610ca2970f6715f91b67');
INSERT INTO "ledger" VALUES(4,'2026-01-05T08:00:00.000Z',NULL,NULL,'person added','person','13e69b47-a7d4-42c5-8582-ec513282c089','dd82bef564a4b6e45b076c292ccd2da6aeb3abdd8865a1c75032b9698e5dec53','d87e758c081a6192d77d6bfcfe204f5dd80536ede7c0610ca2970f6715f91b67','c83c467596e181d528ea54806202150e90b3be46d92bcd28938e0c9061165564');
INSERT INTO "ledger" VALUES(5,'2026-01-05T08:00:00.000Z',NULL,NULL,'tablet enrolled','tablet','e2a98dcb-ddec-4e20-a580-ac37dbcac7ac','952eb57a0308b02c653769307f8668737d958801e4577d0367a0798aba075c0e','c83c467596e181d528ea54806202150e90b3be46d92bcd28938e0c9061165564','1acdb86f955a8ce9edd24d1947cad797fe41b9b44cc94c364509a1f1b0f9aeab');
INSERT INTO "ledger" VALUES(6,'2026-01-05T08:00:00.000Z',NULL,NULL,'scale added','scale','b3649463-10f9-4927-8f2a-733180f1c62e','25c29854d75b6d403e2fdd53e524708e79d97fd95e83e52092b067dec019b63e','1acdb86f955a8ce9edd24d1947cad797fe41b9b44cc94c364509a1f1b0f9aeab','c5a38b6ffad2f8373e2bd0339623fdc94b69b2c6904ed2b0c7693bc602a29f3f');
INSERT INTO "ledger" VALUES(7,'2026-01-05T08:00:00.000Z',NULL,NULL,'scale added','scale','634b334d-aba8-474d-a406-28edc8c373a4','f419d5ef501d05374ece5f7d8c6b9f4b037c5db30f62654a93dfcfc91880ba15','c5a38b6ffad2f8373e2bd0339623fdc94b69b2c6904ed2b0c7693bc602a29f3f','86fedc70497e031e5bf916666b7dde50699aef073c56c49327f54bb95f43eae7');
INSERT INTO "ledger" VALUES(8,'2026-01-05T08:00:00.000Z',NULL,NULL,'meter added','meter','791cddbb-de38-43c4-8fdd-ffefe0196d90','f49f9d1384c915a59dd12b6c54b0d5fa59366a71bfc2e1177f2608eba231a4b3','86fedc70497e031e5bf916666b7dde50699aef073c56c49327f54bb95f43eae7','a8bac5a3fb26727578e7d83365c0bde8543231f86237046b75719d1bb8131505');
INSERT INTO "ledger" VALUES(9,'2026-01-05T08:00:00.000Z',NULL,NULL,'plate value set','plate','181100c2-3245-4961-b1de-7b878b62598b','b9ae0db13373bb7f125bc4577868d1eb01d66ffdc3db094abd0cf383ec56ad60','a8bac5a3fb26727578e7d83365c0bde8543231f86237046b75719d1bb8131505','e5464bb25b4b613bee0c079a9dd83ebe774b2290abaf81db190491e59edc6c5f');
INSERT INTO "ledger" VALUES(10,'2026-01-05T08:00:00.000Z',NULL,NULL,'meter added','meter','45b9451d-5371-4011-9f84-e1a09fd94925','f40f3c555bccdc97926dd6a2b1ab7e8099225ec3fd36cdefeb76a58da6eb1672','e5464bb25b4b613bee0c079a9dd83ebe774b2290abaf81db190491e59edc6c5f','99e61b39c81d0ea634e7cf000ed7d9f938b5896d2b64b788b9144925914340e5');
INSERT INTO "ledger" VALUES(11,'2026-01-05T08:00:00.000Z',NULL,NULL,'plate value set','plate','df1f6c9b-2916-40e5-ab5b-090dc24e8753','b2626b84b718791f0b56402a251b24ca15f98d2749989702861c9a0656e0ef58','99e61b39c81d0ea634e7cf000ed7d9f938b5896d2b64b788b9144925914340e5','137cb9d7d1049133897db57bf3fcc116e61ccbfd4bc49282abdc875a03502d2e');
INSERT INTO "ledger" VALUES(12,'2026-01-05T08:00:00.000Z',NULL,NULL,'machine added','machine','f65636ad-03c8-4399-a726-3a964617b94a','9778ceafff6333dc1553abe2f56762e55b90fb62ac6a5a21a6e370cd6c975f5b','137cb9d7d1049133897db57bf3fcc116e61ccbfd4bc49282abdc875a03502d2e','1d57f86914abc89b85287b925828ba8137817ca3400863b76b74afc05726fd15');
INSERT INTO "ledger" VALUES(13,'2026-01-05T08:00:00.000Z',NULL,NULL,'grinder added','grinder','da2617f2-7aab-42c7-9033-60a28ffbf827','46388c5c1a85acf72dc9992770b8bed38677cef7ac349b4133d0a5109cf64534','1d57f86914abc89b85287b925828ba8137817ca3400863b76b74afc05726fd15','495c2a6deb06d9ce61e038e47c5692b7dd4805b2dd92002457c08bd0c938e3b9');
INSERT INTO "ledger" VALUES(14,'2026-01-05T08:00:00.000Z',NULL,NULL,'grinder_setting added','grinder_setting','a6303778-7058-4390-bd3d-8b7c8a7be37a','fc711390e7fc4ab6390a3a20bdd37241abc0e9d22d4b68c8795b7cac01fe41d6','495c2a6deb06d9ce61e038e47c5692b7dd4805b2dd92002457c08bd0c938e3b9','3555267daea264ae492a34721b8cc81ed18e45a8a316b42aae8fd5e8a4da458a');
INSERT INTO "ledger" VALUES(15,'2026-01-05T08:00:00.000Z',NULL,NULL,'method added','method','8450a64e-04bd-411a-a370-db0bcbadf626','6bd5fba060ebfb38d8a6752ca2e64e1fcffee037e7081a9b244c794c553e5199','3555267daea264ae492a34721b8cc81ed18e45a8a316b42aae8fd5e8a4da458a','11145af68bc7be60a498c8aa36c5e8e5449047da9547afc028ca61461140231e');
INSERT INTO "ledger" VALUES(16,'2026-01-05T08:00:00.000Z',NULL,NULL,'method version made','method_version','ac5d525d-092e-4127-aef6-f2b86eaf5306','f676413e5b7e53617faad5e0a081ede350d56d589fc1cb144255c4cfcf265fcb','11145af68bc7be60a498c8aa36c5e8e5449047da9547afc028ca61461140231e','f35e5235abef8ed7e1de65f778bfca0e09ccd84b7a7f2407ce572062862768e2');
INSERT INTO "ledger" VALUES(17,'2026-01-05T08:00:00.000Z',NULL,NULL,'method added','method','00d20ca2-4186-4ae2-9aca-d818e79a6575','17af12f323fefb278d447c475a8f27c0c78589d31024143df2f50a90a6dbcd7a','f35e5235abef8ed7e1de65f778bfca0e09ccd84b7a7f2407ce572062862768e2','a94f0a4a832ed34a6f607c61497f2d432a739a90e2c284d2bf3c1495379b7e75');
INSERT INTO "ledger" VALUES(18,'2026-01-05T08:00:00.000Z',NULL,NULL,'method version made','method_version','bc946a72-3f27-45bd-8ec8-b580ba9c223d','449343940e54a0bee04e75f4a323ec7ac7c1e05b34086ba71e0a7a76494035cd','a94f0a4a832ed34a6f607c61497f2d432a739a90e2c284d2bf3c1495379b7e75','61c43cdcac2c0bd76ed1d929fa788d69bddb480eb52f76f6d28daaf190c91878');
INSERT INTO "ledger" VALUES(19,'2026-01-05T08:00:00.000Z',NULL,NULL,'product added','product','224a65e6-1c3f-45ff-aecf-a2b8528cd617','c8e7713c0ec109b52d9cdcf99930d7b19eb129f0da982e401a4710fb6f3c73f6','61c43cdcac2c0bd76ed1d929fa788d69bddb480eb52f76f6d28daaf190c91878','f32779a89a44eb2663a00e44d5032a070ce247ef9bbcad6bc6d7cf1eae03f004');
INSERT INTO "ledger" VALUES(20,'2026-01-05T08:00:00.000Z',NULL,NULL,'targets set','target_version','3bf5b9d9-507c-47f6-8c27-87f21212f6d0','d4e1b5379e2341d3ef510ac56c9019e0f962d135ad50af94d3243f62cd2e445a','f32779a89a44eb2663a00e44d5032a070ce247ef9bbcad6bc6d7cf1eae03f004','129d0f768ed3f7a8d11aff5d3dcd40c2941446731504291aa22e31a347ece3dc');
INSERT INTO "ledger" VALUES(21,'2026-05-14T09:00:00.000Z','51bed3d5-7071-40c7-9982-f001c38c5cbe','e2a98dcb-ddec-4e20-a580-ac37dbcac7ac','batch started','batch','bcd2736c-7834-452e-988f-e4854c8a2b76','f5b274de9079fe9c7e847f095de08fb588b5bd8cb590a02c2b200da1921d4344','129d0f768ed3f7a8d11aff5d3dcd40c2941446731504291aa22e31a347ece3dc','ebb1b06f6bdf2542d96b0c010cb31cef9fb9065e06670d999671492ea199b36f');
INSERT INTO "ledger" VALUES(22,'2026-05-14T09:00:00.000Z','51bed3d5-7071-40c7-9982-f001c38c5cbe','e2a98dcb-ddec-4e20-a580-ac37dbcac7ac','whole-bean sample stored','sample','c3add677-f104-4aee-a496-43004eba72a7','6993c08234b95c230f8773dc157fea53612a79da7f91301361c4ee9c2dbfe3da','ebb1b06f6bdf2542d96b0c010cb31cef9fb9065e06670d999671492ea199b36f','34669afbc111db1ec0e874911f8481ce6fcaf8120aa11b23f88269cfa27429dd');
INSERT INTO "ledger" VALUES(23,'2026-05-14T09:04:00.000Z','51bed3d5-7071-40c7-9982-f001c38c5cbe','e2a98dcb-ddec-4e20-a580-ac37dbcac7ac','ground sample stored','sample','fe546eb0-9ab9-4563-9a3f-5ef52f8db93c','b10848a2ce02634d6939189c8e99f467f22e1057da13a8c70b2aeed7024327c1','34669afbc111db1ec0e874911f8481ce6fcaf8120aa11b23f88269cfa27429dd','600e3cd6457aa296b4b8e42754eba7d1627d0a791c9c9a5ebd96dd2575a7e54d');
INSERT INTO "ledger" VALUES(24,'2026-05-14T09:20:00.000Z','51bed3d5-7071-40c7-9982-f001c38c5cbe','e2a98dcb-ddec-4e20-a580-ac37dbcac7ac','batch started','batch','50d50619-511b-4865-873a-f055b2002dd4','8edaeb25c28c4a6d496a5dda06066289b9dc33e17e55a7fbd20550d0c5f4d6ef','600e3cd6457aa296b4b8e42754eba7d1627d0a791c9c9a5ebd96dd2575a7e54d','0907997b5411ca494ca615d4d673618783aaa5625a4acc8235c7d8604ec30cc1');
INSERT INTO "ledger" VALUES(25,'2026-05-14T09:30:00.000Z','51bed3d5-7071-40c7-9982-f001c38c5cbe','e2a98dcb-ddec-4e20-a580-ac37dbcac7ac','whole-bean sample stored','sample','e698409f-caa0-4bf7-9514-839bbf4bc21b','62faed098a59c3d9d5e0ce79f1ad2d05d3dc8ae093672faa30be235d2666b3ef','0907997b5411ca494ca615d4d673618783aaa5625a4acc8235c7d8604ec30cc1','2f4718a68955f3e21906744a37c96d3d60340c450465ef0651dcbba9f3d637f7');
INSERT INTO "ledger" VALUES(26,'2026-05-14T09:40:00.000Z','51bed3d5-7071-40c7-9982-f001c38c5cbe','e2a98dcb-ddec-4e20-a580-ac37dbcac7ac','reading corrected','correction','b404c128-a888-4aba-9b74-2cf17b2ba172','2b61faf7f12b742450997e9d435d08c36bd78e39b37d1fd510b86674f13ccc6d','2f4718a68955f3e21906744a37c96d3d60340c450465ef0651dcbba9f3d637f7','feb22255518f9cbfe5d93ae6a21d5e92034e0f92fd75b09033a3fe2774c7dc8e');
INSERT INTO "ledger" VALUES(27,'2026-05-14T09:50:00.000Z','51bed3d5-7071-40c7-9982-f001c38c5cbe','e2a98dcb-ddec-4e20-a580-ac37dbcac7ac','decision: release','decision','b3b4d026-2cb5-41ea-a200-088042ccf666','1c90224fcd372dc9533b3cb68353bce4e3d0c3ea834d7dd998017f132718a50f','feb22255518f9cbfe5d93ae6a21d5e92034e0f92fd75b09033a3fe2774c7dc8e','5051175f435b83992035163cf633e4195d218215665f79d22527a9ad78e18e7a');
CREATE TABLE machine (
  id TEXT PRIMARY KEY, name TEXT NOT NULL CHECK (length(name) BETWEEN 1 AND 60),
  active INTEGER NOT NULL DEFAULT 1 CHECK (active IN (0,1)), created_at TEXT NOT NULL
) STRICT;
INSERT INTO "machine" VALUES('f65636ad-03c8-4399-a726-3a964617b94a','Machine 1',1,'2026-01-05T08:00:00.000Z');
CREATE TABLE meter (
  id TEXT PRIMARY KEY, name TEXT NOT NULL CHECK (length(name) BETWEEN 1 AND 60),
  scale_id TEXT NOT NULL REFERENCES scale(id),
  active INTEGER NOT NULL DEFAULT 1 CHECK (active IN (0,1)), created_at TEXT NOT NULL
) STRICT;
INSERT INTO "meter" VALUES('791cddbb-de38-43c4-8fdd-ffefe0196d90','Meter A','b3649463-10f9-4927-8f2a-733180f1c62e',1,'2026-01-05T08:00:00.000Z');
INSERT INTO "meter" VALUES('45b9451d-5371-4011-9f84-e1a09fd94925','Meter B','634b334d-aba8-474d-a406-28edc8c373a4',1,'2026-01-05T08:00:00.000Z');
CREATE TABLE method (
  id TEXT PRIMARY KEY, name TEXT NOT NULL CHECK (length(name) BETWEEN 1 AND 60),
  kind TEXT NOT NULL CHECK (kind IN ('whole','ground')),
  active INTEGER NOT NULL DEFAULT 1 CHECK (active IN (0,1)), created_at TEXT NOT NULL
) STRICT;
INSERT INTO "method" VALUES('8450a64e-04bd-411a-a370-db0bcbadf626','Whole bean, deep dish','whole',1,'2026-01-05T08:00:00.000Z');
INSERT INTO "method" VALUES('00d20ca2-4186-4ae2-9aca-d818e79a6575','Ground, shallow dish','ground',1,'2026-01-05T08:00:00.000Z');
CREATE TABLE method_spread (
  method_version_id TEXT NOT NULL REFERENCES method_version(id), scale_id TEXT NOT NULL REFERENCES scale(id),
  ss_r REAL NOT NULL, df_r INTEGER NOT NULL, ss_f REAL NOT NULL, df_f INTEGER NOT NULL,
  readings INTEGER NOT NULL, fills INTEGER NOT NULL,
  PRIMARY KEY (method_version_id, scale_id)
) STRICT;
INSERT INTO "method_spread" VALUES('ac5d525d-092e-4127-aef6-f2b86eaf5306','b3649463-10f9-4927-8f2a-733180f1c62e',4.66666666666656348994e-02,6,2.22222222222291697704e-03,1,9,3);
INSERT INTO "method_spread" VALUES('bc946a72-3f27-45bd-8ec8-b580ba9c223d','b3649463-10f9-4927-8f2a-733180f1c62e',2.00000000000005694056e-02,2,0.0,0,3,1);
CREATE TABLE method_step (
  method_version_id TEXT NOT NULL REFERENCES method_version(id), no INTEGER NOT NULL CHECK (no > 0),
  title TEXT NOT NULL CHECK (length(title) > 0), body TEXT NOT NULL DEFAULT '', why TEXT NOT NULL DEFAULT '',
  done_label TEXT NOT NULL DEFAULT '', picture TEXT NOT NULL DEFAULT '', caution TEXT NOT NULL DEFAULT '',
  timer_s INTEGER CHECK (timer_s BETWEEN 1 AND 7200),
  note_label TEXT NOT NULL DEFAULT '', note_unit TEXT NOT NULL DEFAULT '',
  PRIMARY KEY (method_version_id, no)
) STRICT;
INSERT INTO "method_step" VALUES('ac5d525d-092e-4127-aef6-f2b86eaf5306',1,'Switch on the meter and let it warm up','Give it one minute before the first reading. If it has been on for longer, go on.','A meter that has just been switched on is still settling. Its numbers can walk although the coffee stays the same.','Done, it is warm','warm-meter','',60,'','');
INSERT INTO "method_step" VALUES('ac5d525d-092e-4127-aef6-f2b86eaf5306',2,'Take the sample from the cooled tray','Scoop from several places in the tray. Take enough for the heaped dish, and for the grinder if you read ground too.','One spot in the tray may not look like the rest. Scoops from several places stand for the whole batch.','Done, I have the sample','sample-tray','Hot beans burn: they leave the drum at around 200 °C. Sample only from the cooled tray, with its arm at rest. Never reach into a turning drum or a running machine. Your site''s rules and the machine''s manual come first.',NULL,'','');
INSERT INTO "method_step" VALUES('ac5d525d-092e-4127-aef6-f2b86eaf5306',3,'Let the sample cool to room temperature','Spread the beans in a thin layer and wait. If you have a thermometer, note what it shows.','Warm coffee can read differently from cool coffee, and it warms the meter that stands on it. At room temperature every batch is read alike.','Done, it is cool','cool-sample','If you feel heat rising from the beans, do not touch them. Wait.',NULL,'Sample temperature','°C');
INSERT INTO "method_step" VALUES('ac5d525d-092e-4127-aef6-f2b86eaf5306',4,'Fill the deep dish until it is heaped','Let the beans fall in loosely until they stand above the rim. Do not press, shake or tap.','Pressed or shaken beans lie closer together than loose ones, and that can move the number. Filling is where two people differ most easily.','Done, it is heaped','fill-deep','',NULL,'','');
INSERT INTO "method_step" VALUES('ac5d525d-092e-4127-aef6-f2b86eaf5306',5,'Level the dish with the straightedge','Stand it on the rim and pull it across once. What stands above the rim falls away.','The meter should see the beans from the same distance every time. A heap brings them nearer, a hollow takes them away.','Done, it is level','level-deep','',NULL,'','');
INSERT INTO "method_step" VALUES('ac5d525d-092e-4127-aef6-f2b86eaf5306',6,'Look for proud beans and holes','Bring your eye down to the rim. Take off a bean that stands proud, lay a bean into a hole, then look again.','A proud bean holds the meter off the rim. A hole sends little light back, and that reads as a darker coffee.','Done, it is flat and full','look-deep','',NULL,'','');
INSERT INTO "method_step" VALUES('ac5d525d-092e-4127-aef6-f2b86eaf5306',7,'Seat the meter flat on the dish','It must not rock, and no light may come in under it. After each reading turn it a quarter and seat it again, without stirring the beans.','Light from the room mixes with the meter''s own. Turned a quarter, it sees the same dish from another side, so that one odd spot counts for less.','Done, it sits flat','seat-deep','',NULL,'','');
INSERT INTO "method_step" VALUES('bc946a72-3f27-45bd-8ec8-b580ba9c223d',1,'Warm the meter if it is not warm yet','Switch it on and give it one minute. If it has been on since the whole bean was read, go on.','A meter that has just been switched on is still settling. Its numbers can walk although the coffee stays the same.','Done, it is warm','warm-meter','',60,'','');
INSERT INTO "method_step" VALUES('bc946a72-3f27-45bd-8ec8-b580ba9c223d',2,'Check the grinder''s setting','It must stand at the setting that belongs to this method. If it does not, set it back before you grind anything.','The same coffee ground finer reads lighter. A setting that has moved looks just like another roast.','Done, the setting is right','grinder-setting','Burrs cut. Switch the grinder off and unplug it before you open it, and follow its manual.',NULL,'','');
INSERT INTO "method_step" VALUES('bc946a72-3f27-45bd-8ec8-b580ba9c223d',3,'Purge the grinder with a little of this batch','Grind a small scoop of the cooled sample into a spare cup and throw it away.','Coffee from the last grind stays behind in the grinder. Without a purge it ends up in this batch''s dish.','Done, it is purged','grinder-purge','Never put a finger near the burrs, neither from above nor through the chute. Hot beans burn: use cooled beans only, never from a turning drum or a running machine. Chaff and fine grounds can catch fire: keep them away from heat. Your site''s rules come first.',NULL,'','');
INSERT INTO "method_step" VALUES('bc946a72-3f27-45bd-8ec8-b580ba9c223d',4,'Grind the sample','Grind enough to fill the shallow dish in one go and let the grinder run empty. Then stir the grounds.','Coarse and fine grounds part as they fall. Stirred, every spoonful holds some of both.','Done, it is ground','grinder-grind','If the grinder jams, switch it off and unplug it before you look. Never clear the burrs or the chute with a finger.',NULL,'','');
INSERT INTO "method_step" VALUES('bc946a72-3f27-45bd-8ec8-b580ba9c223d',5,'Fill the shallow dish and spread the grounds evenly','Let them fall in loosely until they stand above the rim, and spread them to every edge. Do not press.','Packed grounds can read differently from loose ones. Spread evenly, one side of the dish is like the other.','Done, it is spread','spread-shallow','',NULL,'','');
INSERT INTO "method_step" VALUES('bc946a72-3f27-45bd-8ec8-b580ba9c223d',6,'Level it with the straightedge, without pressing','Pull it across the rim once. Do not push down, and do not go back over the surface.','Pressing smooths the surface, and a smooth surface can send light back differently from a loose one. One light pull is easy to do the same way every time.','Done, it is level','level-shallow','',NULL,'','');
INSERT INTO "method_step" VALUES('bc946a72-3f27-45bd-8ec8-b580ba9c223d',7,'Look for holes and streaks','Look at the surface from several sides. If you see a hole, a lump or a streak, stir, spread and level once more.','A hole or a streak reads differently from the rest, so the number would hang on where the meter happens to look.','Done, it is even','look-shallow','',NULL,'','');
INSERT INTO "method_step" VALUES('bc946a72-3f27-45bd-8ec8-b580ba9c223d',8,'Seat the meter flat on the dish','It must not rock, and no light may come in under it. After each reading turn it a quarter and seat it again, without disturbing the grounds.','Light from the room mixes with the meter''s own. Turned a quarter, it sees the same dish from another side, so that one odd spot counts for less.','Done, it sits flat','seat-shallow','',NULL,'','');
CREATE TABLE method_version (
  id TEXT PRIMARY KEY, method_id TEXT NOT NULL REFERENCES method(id), no INTEGER NOT NULL CHECK (no > 0),
  dish TEXT NOT NULL DEFAULT '', planned_readings INTEGER NOT NULL CHECK (planned_readings BETWEEN 1 AND 10),
  planned_fills INTEGER NOT NULL CHECK (planned_fills BETWEEN 1 AND 4),
  grinder_setting_id TEXT REFERENCES grinder_setting(id),
  reason TEXT NOT NULL DEFAULT '', person_id TEXT REFERENCES person(id), made_at TEXT NOT NULL,
  UNIQUE (method_id, no)
) STRICT;
INSERT INTO "method_version" VALUES('ac5d525d-092e-4127-aef6-f2b86eaf5306','8450a64e-04bd-411a-a370-db0bcbadf626',1,'Deep dish',3,1,NULL,'',NULL,'2026-01-05T08:00:00.000Z');
INSERT INTO "method_version" VALUES('bc946a72-3f27-45bd-8ec8-b580ba9c223d','00d20ca2-4186-4ae2-9aca-d818e79a6575',1,'Shallow dish',3,1,'a6303778-7058-4390-bd3d-8b7c8a7be37a','',NULL,'2026-01-05T08:00:00.000Z');
CREATE TABLE one_time_code (
  code_hash TEXT PRIMARY KEY, purpose TEXT NOT NULL CHECK (purpose IN ('setup','enrol')),
  made_by TEXT REFERENCES person(id), made_at TEXT NOT NULL, expires_at TEXT NOT NULL, used_at TEXT
) STRICT;
CREATE TABLE part_result (
  batch_id TEXT NOT NULL REFERENCES batch(id), kind TEXT NOT NULL CHECK (kind IN ('whole','ground','difference')),
  value REAL NOT NULL, u REAL NOT NULL, fill_term REAL NOT NULL, reading_term REAL NOT NULL,
  step_term REAL NOT NULL, meter_term REAL NOT NULL,
  fills INTEGER NOT NULL, readings INTEGER NOT NULL, samples INTEGER NOT NULL,
  readings_disagree INTEGER NOT NULL, fills_disagree INTEGER NOT NULL, apart INTEGER NOT NULL,
  scale_id TEXT NOT NULL REFERENCES scale(id),
  target_version_id TEXT REFERENCES target_version(id), method_version_id TEXT REFERENCES method_version(id),
  sigma_r REAL, sigma_f REAL, sigma_source TEXT NOT NULL, u_meter_source TEXT NOT NULL,
  verdict TEXT CHECK (verdict IN ('inside','undecided','outside')),
  side TEXT CHECK (side IN ('lighter','darker')),
  chance REAL, position REAL, beyond REAL, settle_fills INTEGER,
  PRIMARY KEY (batch_id, kind)
) STRICT;
INSERT INTO "part_result" VALUES('50d50619-511b-4865-873a-f055b2002dd4','whole',59.0,8.02599941855633769449e-01,0.5625,6.74999999999999905631e-02,8.3333333333333349524e-04,1.33333333333333359238e-02,1,3,1,0,0,0,'b3649463-10f9-4927-8f2a-733180f1c62e','3bf5b9d9-507c-47f6-8c27-87f21212f6d0','ac5d525d-092e-4127-aef6-f2b86eaf5306',4.49999999999999955591e-01,0.75,'assumed','assumed','outside','lighter',3.08165361583557680102e-02,2.0,1.5,NULL);
INSERT INTO "part_result" VALUES('bcd2736c-7834-452e-988f-e4854c8a2b76','whole',5.62666666666666657201e+01,5.73730482601950142473e-01,0.28125,3.37499999999999952815e-02,8.3333333333333349524e-04,1.33333333333333359238e-02,2,6,1,0,0,0,'b3649463-10f9-4927-8f2a-733180f1c62e','3bf5b9d9-507c-47f6-8c27-87f21212f6d0','ac5d525d-092e-4127-aef6-f2b86eaf5306',4.49999999999999955591e-01,0.75,'assumed','assumed','inside',NULL,9.83171913853521650672e-01,1.77777777777777146184e-01,-1.23333333333333428072e+00,NULL);
INSERT INTO "part_result" VALUES('bcd2736c-7834-452e-988f-e4854c8a2b76','ground',61.1,4.96655480858377962327e-01,2.02499999999999957811e-01,3.00000000000000092981e-02,8.3333333333333349524e-04,1.33333333333333359238e-02,1,3,1,0,0,0,'b3649463-10f9-4927-8f2a-733180f1c62e','3bf5b9d9-507c-47f6-8c27-87f21212f6d0','bc946a72-3f27-45bd-8ec8-b580ba9c223d',3.00000000000000044408e-01,4.49999999999999955591e-01,'assumed','assumed','inside',NULL,9.96952740885743593501e-01,6.6666666666667609431e-02,-1.39999999999999857891e+00,NULL);
INSERT INTO "part_result" VALUES('bcd2736c-7834-452e-988f-e4854c8a2b76','difference',4.8333333333333357018e+00,7.4105780251385688917e-01,4.83749999999999957811e-01,0.06375,1.66666666666666699048e-03,0.0,3,9,2,0,0,0,'b3649463-10f9-4927-8f2a-733180f1c62e','3bf5b9d9-507c-47f6-8c27-87f21212f6d0',NULL,NULL,NULL,'assumed','assumed','inside',NULL,9.5175377645260939019e-01,-1.11111111111109536753e-01,-1.3333333333333357018e+00,NULL);
CREATE TABLE person (
  id TEXT PRIMARY KEY, name TEXT NOT NULL CHECK (length(name) BETWEEN 1 AND 60),
  role TEXT NOT NULL CHECK (role IN ('trainee','roaster','lead')),
  pin_hash TEXT NOT NULL, active INTEGER NOT NULL DEFAULT 1 CHECK (active IN (0,1)),
  auto_point INTEGER NOT NULL DEFAULT 0 CHECK (auto_point IN (0,1)),
  short_checklist INTEGER NOT NULL DEFAULT 0 CHECK (short_checklist IN (0,1)),
  created_at TEXT NOT NULL
) STRICT;
INSERT INTO "person" VALUES('28639135-b7fe-4b70-bf13-5df96c8705f1','Ada','lead','$argon2id$v=19$m=8,t=1,p=1$t1Ydag6n6Jqttd7FVvG3yA$K7brz7UhGALXb8IkN1/rL8qtxkDArK1epntQdWDyQqg',1,0,0,'2026-01-05T08:00:00.000Z');
INSERT INTO "person" VALUES('51bed3d5-7071-40c7-9982-f001c38c5cbe','Ravi','roaster','$argon2id$v=19$m=8,t=1,p=1$HHAdOWtCHH5XkCgTwOInIg$dU2pBqIudzeE8xK50b4gZT3W5XPeHVCwadGDDwiOGEk',1,0,0,'2026-01-05T08:00:00.000Z');
INSERT INTO "person" VALUES('13e69b47-a7d4-42c5-8582-ec513282c089','Tomas','trainee','$argon2id$v=19$m=8,t=1,p=1$sNQ3z8Wweb3sRI2Vxr3KfA$e3FHGSxo/8krX3/h1784KeO/la+L+DntgSCavg3zaeI',1,0,0,'2026-01-05T08:00:00.000Z');
CREATE TABLE pin_guard (
  subject TEXT PRIMARY KEY, failures INTEGER NOT NULL, last_failed_at TEXT NOT NULL, locked_until TEXT
) STRICT;
CREATE TABLE plate (
  id TEXT PRIMARY KEY, meter_id TEXT NOT NULL REFERENCES meter(id), name TEXT NOT NULL,
  assigned INTEGER NOT NULL, tolerance INTEGER NOT NULL CHECK (tolerance > 0),
  reason TEXT NOT NULL DEFAULT '', person_id TEXT REFERENCES person(id), made_at TEXT NOT NULL
) STRICT;
INSERT INTO "plate" VALUES('181100c2-3245-4961-b1de-7b878b62598b','791cddbb-de38-43c4-8fdd-ffefe0196d90','Plate 1',6000,20,'',NULL,'2026-01-05T08:00:00.000Z');
INSERT INTO "plate" VALUES('df1f6c9b-2916-40e5-ab5b-090dc24e8753','45b9451d-5371-4011-9f84-e1a09fd94925','Plate 2',5000,20,'',NULL,'2026-01-05T08:00:00.000Z');
CREATE TABLE product (
  id TEXT PRIMARY KEY, name TEXT NOT NULL CHECK (length(name) BETWEEN 1 AND 60),
  short TEXT NOT NULL CHECK (length(short) BETWEEN 1 AND 4),
  active INTEGER NOT NULL DEFAULT 1 CHECK (active IN (0,1)), created_at TEXT NOT NULL
) STRICT;
INSERT INTO "product" VALUES('224a65e6-1c3f-45ff-aecf-a2b8528cd617','Lantern House','LH',1,'2026-01-05T08:00:00.000Z');
CREATE TABLE reading (
  sample_id TEXT NOT NULL REFERENCES sample(id), fill_no INTEGER NOT NULL CHECK (fill_no BETWEEN 1 AND 4),
  no INTEGER NOT NULL CHECK (no > 0), value INTEGER NOT NULL, typed TEXT NOT NULL,
  void_reason TEXT NOT NULL DEFAULT '', confirmed INTEGER NOT NULL DEFAULT 0 CHECK (confirmed IN (0,1)),
  PRIMARY KEY (sample_id, fill_no, no)
) STRICT;
INSERT INTO "reading" VALUES('c3add677-f104-4aee-a496-43004eba72a7',1,1,5620,'56.2','',0);
INSERT INTO "reading" VALUES('c3add677-f104-4aee-a496-43004eba72a7',1,2,5630,'56.3','',0);
INSERT INTO "reading" VALUES('c3add677-f104-4aee-a496-43004eba72a7',1,3,5610,'56.1','',0);
INSERT INTO "reading" VALUES('c3add677-f104-4aee-a496-43004eba72a7',2,1,5640,'56.4','',0);
INSERT INTO "reading" VALUES('c3add677-f104-4aee-a496-43004eba72a7',2,2,5620,'56.2','',0);
INSERT INTO "reading" VALUES('c3add677-f104-4aee-a496-43004eba72a7',2,3,5630,'56.3','',0);
INSERT INTO "reading" VALUES('fe546eb0-9ab9-4563-9a3f-5ef52f8db93c',1,1,6100,'61.0','',0);
INSERT INTO "reading" VALUES('fe546eb0-9ab9-4563-9a3f-5ef52f8db93c',1,2,6120,'61.2','',0);
INSERT INTO "reading" VALUES('fe546eb0-9ab9-4563-9a3f-5ef52f8db93c',1,3,6110,'61.1','',0);
INSERT INTO "reading" VALUES('e698409f-caa0-4bf7-9514-839bbf4bc21b',1,1,5890,'58.9','',0);
INSERT INTO "reading" VALUES('e698409f-caa0-4bf7-9514-839bbf4bc21b',1,2,5900,'59.0','',0);
INSERT INTO "reading" VALUES('e698409f-caa0-4bf7-9514-839bbf4bc21b',1,3,5910,'59.1','',0);
CREATE TABLE sample (
  id TEXT PRIMARY KEY, batch_id TEXT NOT NULL REFERENCES batch(id),
  kind TEXT NOT NULL CHECK (kind IN ('whole','ground')),
  method_version_id TEXT NOT NULL REFERENCES method_version(id),
  target_version_id TEXT REFERENCES target_version(id),
  meter_id TEXT NOT NULL REFERENCES meter(id), plate_id TEXT REFERENCES plate(id),
  grinder_setting_id TEXT REFERENCES grinder_setting(id),
  checklist TEXT NOT NULL CHECK (checklist IN ('walked','short','page')),
  sigma_r REAL NOT NULL CHECK (sigma_r >= 0), sigma_f REAL NOT NULL CHECK (sigma_f >= 0),
  sigma_source TEXT NOT NULL CHECK (sigma_source IN ('study','routine','assumed')),
  u_meter REAL NOT NULL CHECK (u_meter >= 0),
  u_meter_source TEXT NOT NULL CHECK (u_meter_source IN ('checks','assumed')),
  note TEXT NOT NULL DEFAULT '',
  person_id TEXT NOT NULL REFERENCES person(id), role TEXT NOT NULL,
  tablet_id TEXT NOT NULL REFERENCES tablet(id), made_at TEXT NOT NULL, received_at TEXT NOT NULL
) STRICT;
INSERT INTO "sample" VALUES('c3add677-f104-4aee-a496-43004eba72a7','bcd2736c-7834-452e-988f-e4854c8a2b76','whole','ac5d525d-092e-4127-aef6-f2b86eaf5306','3bf5b9d9-507c-47f6-8c27-87f21212f6d0','791cddbb-de38-43c4-8fdd-ffefe0196d90','181100c2-3245-4961-b1de-7b878b62598b',NULL,'walked',4.49999999999999955591e-01,0.75,'assumed',1.15470053837925162865e-01,'assumed','','51bed3d5-7071-40c7-9982-f001c38c5cbe','roaster','e2a98dcb-ddec-4e20-a580-ac37dbcac7ac','2026-05-14T09:00:00.000Z','2026-05-14T09:00:00.000Z');
INSERT INTO "sample" VALUES('fe546eb0-9ab9-4563-9a3f-5ef52f8db93c','bcd2736c-7834-452e-988f-e4854c8a2b76','ground','bc946a72-3f27-45bd-8ec8-b580ba9c223d','3bf5b9d9-507c-47f6-8c27-87f21212f6d0','791cddbb-de38-43c4-8fdd-ffefe0196d90','181100c2-3245-4961-b1de-7b878b62598b','a6303778-7058-4390-bd3d-8b7c8a7be37a','walked',3.00000000000000044408e-01,4.49999999999999955591e-01,'assumed',1.15470053837925162865e-01,'assumed','','51bed3d5-7071-40c7-9982-f001c38c5cbe','roaster','e2a98dcb-ddec-4e20-a580-ac37dbcac7ac','2026-05-14T09:04:00.000Z','2026-05-14T09:04:00.000Z');
INSERT INTO "sample" VALUES('e698409f-caa0-4bf7-9514-839bbf4bc21b','50d50619-511b-4865-873a-f055b2002dd4','whole','ac5d525d-092e-4127-aef6-f2b86eaf5306','3bf5b9d9-507c-47f6-8c27-87f21212f6d0','791cddbb-de38-43c4-8fdd-ffefe0196d90','181100c2-3245-4961-b1de-7b878b62598b',NULL,'walked',4.49999999999999955591e-01,0.75,'assumed',1.15470053837925162865e-01,'assumed','','51bed3d5-7071-40c7-9982-f001c38c5cbe','roaster','e2a98dcb-ddec-4e20-a580-ac37dbcac7ac','2026-05-14T09:30:00.000Z','2026-05-14T09:30:00.000Z');
CREATE TABLE scale (
  id TEXT PRIMARY KEY, name TEXT NOT NULL CHECK (length(name) BETWEEN 1 AND 60),
  lower INTEGER NOT NULL, upper INTEGER NOT NULL, step INTEGER NOT NULL CHECK (step > 0),
  lighter INTEGER NOT NULL CHECK (lighter IN (-1, 1)), created_at TEXT NOT NULL,
  CHECK (upper > lower)
) STRICT;
INSERT INTO "scale" VALUES('b3649463-10f9-4927-8f2a-733180f1c62e','Scale A',0,15000,10,1,'2026-01-05T08:00:00.000Z');
INSERT INTO "scale" VALUES('634b334d-aba8-474d-a406-28edc8c373a4','Scale B',0,10000,10,-1,'2026-01-05T08:00:00.000Z');
CREATE TABLE session (
  token_hash TEXT PRIMARY KEY, person_id TEXT NOT NULL REFERENCES person(id),
  tablet_id TEXT NOT NULL REFERENCES tablet(id),
  started_at TEXT NOT NULL, last_seen_at TEXT NOT NULL, ends_at TEXT NOT NULL,
  confirmed_at TEXT, ended_at TEXT
) STRICT;
CREATE TABLE site (
  id INTEGER PRIMARY KEY CHECK (id = 1),
  name TEXT NOT NULL, time_zone TEXT NOT NULL,
  idle_minutes INTEGER NOT NULL DEFAULT 10 CHECK (idle_minutes BETWEEN 1 AND 120),
  shift_hours INTEGER NOT NULL DEFAULT 12 CHECK (shift_hours BETWEEN 1 AND 24)
) STRICT;
INSERT INTO "site" VALUES(1,'Test roastery','Europe/Vienna',10,12);
CREATE TABLE step_done (
  sample_id TEXT NOT NULL REFERENCES sample(id), step_no INTEGER NOT NULL,
  done_at TEXT NOT NULL, note TEXT NOT NULL DEFAULT '',
  PRIMARY KEY (sample_id, step_no)
) STRICT;
INSERT INTO "step_done" VALUES('c3add677-f104-4aee-a496-43004eba72a7',1,'2026-05-14T09:00:00.000Z','');
INSERT INTO "step_done" VALUES('c3add677-f104-4aee-a496-43004eba72a7',2,'2026-05-14T09:00:00.000Z','');
INSERT INTO "step_done" VALUES('c3add677-f104-4aee-a496-43004eba72a7',3,'2026-05-14T09:00:00.000Z','');
INSERT INTO "step_done" VALUES('c3add677-f104-4aee-a496-43004eba72a7',4,'2026-05-14T09:00:00.000Z','');
INSERT INTO "step_done" VALUES('c3add677-f104-4aee-a496-43004eba72a7',5,'2026-05-14T09:00:00.000Z','');
INSERT INTO "step_done" VALUES('c3add677-f104-4aee-a496-43004eba72a7',6,'2026-05-14T09:00:00.000Z','');
INSERT INTO "step_done" VALUES('c3add677-f104-4aee-a496-43004eba72a7',7,'2026-05-14T09:00:00.000Z','');
INSERT INTO "step_done" VALUES('fe546eb0-9ab9-4563-9a3f-5ef52f8db93c',1,'2026-05-14T09:04:00.000Z','');
INSERT INTO "step_done" VALUES('fe546eb0-9ab9-4563-9a3f-5ef52f8db93c',2,'2026-05-14T09:04:00.000Z','');
INSERT INTO "step_done" VALUES('fe546eb0-9ab9-4563-9a3f-5ef52f8db93c',3,'2026-05-14T09:04:00.000Z','');
INSERT INTO "step_done" VALUES('fe546eb0-9ab9-4563-9a3f-5ef52f8db93c',4,'2026-05-14T09:04:00.000Z','');
INSERT INTO "step_done" VALUES('fe546eb0-9ab9-4563-9a3f-5ef52f8db93c',5,'2026-05-14T09:04:00.000Z','');
INSERT INTO "step_done" VALUES('fe546eb0-9ab9-4563-9a3f-5ef52f8db93c',6,'2026-05-14T09:04:00.000Z','');
INSERT INTO "step_done" VALUES('fe546eb0-9ab9-4563-9a3f-5ef52f8db93c',7,'2026-05-14T09:04:00.000Z','');
INSERT INTO "step_done" VALUES('fe546eb0-9ab9-4563-9a3f-5ef52f8db93c',8,'2026-05-14T09:04:00.000Z','');
INSERT INTO "step_done" VALUES('e698409f-caa0-4bf7-9514-839bbf4bc21b',1,'2026-05-14T09:30:00.000Z','');
INSERT INTO "step_done" VALUES('e698409f-caa0-4bf7-9514-839bbf4bc21b',2,'2026-05-14T09:30:00.000Z','');
INSERT INTO "step_done" VALUES('e698409f-caa0-4bf7-9514-839bbf4bc21b',3,'2026-05-14T09:30:00.000Z','');
INSERT INTO "step_done" VALUES('e698409f-caa0-4bf7-9514-839bbf4bc21b',4,'2026-05-14T09:30:00.000Z','');
INSERT INTO "step_done" VALUES('e698409f-caa0-4bf7-9514-839bbf4bc21b',5,'2026-05-14T09:30:00.000Z','');
INSERT INTO "step_done" VALUES('e698409f-caa0-4bf7-9514-839bbf4bc21b',6,'2026-05-14T09:30:00.000Z','');
INSERT INTO "step_done" VALUES('e698409f-caa0-4bf7-9514-839bbf4bc21b',7,'2026-05-14T09:30:00.000Z','');
CREATE TABLE tablet (
  id TEXT PRIMARY KEY, name TEXT NOT NULL CHECK (length(name) BETWEEN 1 AND 60),
  secret_hash TEXT NOT NULL UNIQUE, enrolled_at TEXT NOT NULL,
  enrolled_by TEXT REFERENCES person(id), revoked_at TEXT
) STRICT;
INSERT INTO "tablet" VALUES('e2a98dcb-ddec-4e20-a580-ac37dbcac7ac','Bench tablet','57f2652798fa5fe09a024a8cb7b9b64adc628fcd1cd6047ad6ab7371c2fba4fb','2026-01-05T08:00:00.000Z',NULL,NULL);
CREATE TABLE target_band (
  target_version_id TEXT NOT NULL REFERENCES target_version(id),
  kind TEXT NOT NULL CHECK (kind IN ('whole','ground','difference')),
  lower INTEGER, centre INTEGER NOT NULL, upper INTEGER,
  PRIMARY KEY (target_version_id, kind),
  CHECK (lower IS NOT NULL OR upper IS NOT NULL),
  CHECK (lower IS NULL OR lower < centre), CHECK (upper IS NULL OR upper > centre)
) STRICT;
INSERT INTO "target_band" VALUES('3bf5b9d9-507c-47f6-8c27-87f21212f6d0','whole',5450,5600,5750);
INSERT INTO "target_band" VALUES('3bf5b9d9-507c-47f6-8c27-87f21212f6d0','ground',5950,6100,6250);
INSERT INTO "target_band" VALUES('3bf5b9d9-507c-47f6-8c27-87f21212f6d0','difference',350,500,650);
CREATE TABLE target_version (
  id TEXT PRIMARY KEY, product_id TEXT NOT NULL REFERENCES product(id), no INTEGER NOT NULL CHECK (no > 0),
  scale_id TEXT NOT NULL REFERENCES scale(id),
  rule TEXT NOT NULL CHECK (rule IN ('guarded','simple')),
  confidence REAL NOT NULL CHECK (confidence > 0.5 AND confidence < 1),
  whole_method_id TEXT REFERENCES method(id), ground_method_id TEXT REFERENCES method(id),
  reason TEXT NOT NULL DEFAULT '', person_id TEXT REFERENCES person(id), made_at TEXT NOT NULL,
  UNIQUE (product_id, no)
) STRICT;
INSERT INTO "target_version" VALUES('3bf5b9d9-507c-47f6-8c27-87f21212f6d0','224a65e6-1c3f-45ff-aecf-a2b8528cd617',1,'b3649463-10f9-4927-8f2a-733180f1c62e','guarded',0.8,'8450a64e-04bd-411a-a370-db0bcbadf626','00d20ca2-4186-4ae2-9aca-d818e79a6575','',NULL,'2026-01-05T08:00:00.000Z');
CREATE UNIQUE INDEX "idx__sqlite_migrations_migration_set_name"
    ON "_sqlite_migrations" ("migration_set", "name");
CREATE INDEX session_by_person ON session(person_id, ended_at);
CREATE INDEX session_by_tablet ON session(tablet_id, ended_at);
CREATE INDEX plate_by_meter ON plate(meter_id, made_at);
CREATE INDEX batch_by_day ON batch(day, roasted_at);
CREATE INDEX batch_by_code ON batch(code);
CREATE INDEX batch_by_product ON batch(product_id, roasted_at);
CREATE INDEX sample_by_batch ON sample(batch_id, kind);
CREATE INDEX correction_by_sample ON correction(sample_id);
CREATE INDEX decision_by_batch ON decision(batch_id, received_at);
CREATE INDEX ledger_by_record ON ledger(kind, record_id, seq)
;
CREATE TRIGGER scale_no_update BEFORE UPDATE ON scale BEGIN SELECT RAISE(ABORT, 'scale is append-only'); END;
CREATE TRIGGER scale_no_delete BEFORE DELETE ON scale BEGIN SELECT RAISE(ABORT, 'scale is append-only'); END;
CREATE TRIGGER scale_no_replace BEFORE INSERT ON scale WHEN EXISTS (SELECT 1 FROM scale WHERE id = NEW.id) BEGIN SELECT RAISE(ABORT, 'scale is append-only'); END;
CREATE TRIGGER plate_no_update BEFORE UPDATE ON plate BEGIN SELECT RAISE(ABORT, 'plate is append-only'); END;
CREATE TRIGGER plate_no_delete BEFORE DELETE ON plate BEGIN SELECT RAISE(ABORT, 'plate is append-only'); END;
CREATE TRIGGER plate_no_replace BEFORE INSERT ON plate WHEN EXISTS (SELECT 1 FROM plate WHERE id = NEW.id) BEGIN SELECT RAISE(ABORT, 'plate is append-only'); END;
CREATE TRIGGER grinder_setting_no_update BEFORE UPDATE ON grinder_setting BEGIN SELECT RAISE(ABORT, 'grinder_setting is append-only'); END;
CREATE TRIGGER grinder_setting_no_delete BEFORE DELETE ON grinder_setting BEGIN SELECT RAISE(ABORT, 'grinder_setting is append-only'); END;
CREATE TRIGGER grinder_setting_no_replace BEFORE INSERT ON grinder_setting WHEN EXISTS (SELECT 1 FROM grinder_setting WHERE id = NEW.id OR grinder_id = NEW.grinder_id AND name = NEW.name) BEGIN SELECT RAISE(ABORT, 'grinder_setting is append-only'); END;
CREATE TRIGGER method_version_no_update BEFORE UPDATE ON method_version BEGIN SELECT RAISE(ABORT, 'method_version is append-only'); END;
CREATE TRIGGER method_version_no_delete BEFORE DELETE ON method_version BEGIN SELECT RAISE(ABORT, 'method_version is append-only'); END;
CREATE TRIGGER method_version_no_replace BEFORE INSERT ON method_version WHEN EXISTS (SELECT 1 FROM method_version WHERE id = NEW.id OR method_id = NEW.method_id AND no = NEW.no) BEGIN SELECT RAISE(ABORT, 'method_version is append-only'); END;
CREATE TRIGGER method_step_no_update BEFORE UPDATE ON method_step BEGIN SELECT RAISE(ABORT, 'method_step is append-only'); END;
CREATE TRIGGER method_step_no_delete BEFORE DELETE ON method_step BEGIN SELECT RAISE(ABORT, 'method_step is append-only'); END;
CREATE TRIGGER method_step_no_replace BEFORE INSERT ON method_step WHEN EXISTS (SELECT 1 FROM method_step WHERE method_version_id = NEW.method_version_id AND no = NEW.no) BEGIN SELECT RAISE(ABORT, 'method_step is append-only'); END;
CREATE TRIGGER target_version_no_update BEFORE UPDATE ON target_version BEGIN SELECT RAISE(ABORT, 'target_version is append-only'); END;
CREATE TRIGGER target_version_no_delete BEFORE DELETE ON target_version BEGIN SELECT RAISE(ABORT, 'target_version is append-only'); END;
CREATE TRIGGER target_version_no_replace BEFORE INSERT ON target_version WHEN EXISTS (SELECT 1 FROM target_version WHERE id = NEW.id OR product_id = NEW.product_id AND no = NEW.no) BEGIN SELECT RAISE(ABORT, 'target_version is append-only'); END;
CREATE TRIGGER target_band_no_update BEFORE UPDATE ON target_band BEGIN SELECT RAISE(ABORT, 'target_band is append-only'); END;
CREATE TRIGGER target_band_no_delete BEFORE DELETE ON target_band BEGIN SELECT RAISE(ABORT, 'target_band is append-only'); END;
CREATE TRIGGER target_band_no_replace BEFORE INSERT ON target_band WHEN EXISTS (SELECT 1 FROM target_band WHERE target_version_id = NEW.target_version_id AND kind = NEW.kind) BEGIN SELECT RAISE(ABORT, 'target_band is append-only'); END;
CREATE TRIGGER batch_no_update BEFORE UPDATE ON batch BEGIN SELECT RAISE(ABORT, 'batch is append-only'); END;
CREATE TRIGGER batch_no_delete BEFORE DELETE ON batch BEGIN SELECT RAISE(ABORT, 'batch is append-only'); END;
CREATE TRIGGER batch_no_replace BEFORE INSERT ON batch WHEN EXISTS (SELECT 1 FROM batch WHERE id = NEW.id) BEGIN SELECT RAISE(ABORT, 'batch is append-only'); END;
CREATE TRIGGER sample_no_update BEFORE UPDATE ON sample BEGIN SELECT RAISE(ABORT, 'sample is append-only'); END;
CREATE TRIGGER sample_no_delete BEFORE DELETE ON sample BEGIN SELECT RAISE(ABORT, 'sample is append-only'); END;
CREATE TRIGGER sample_no_replace BEFORE INSERT ON sample WHEN EXISTS (SELECT 1 FROM sample WHERE id = NEW.id) BEGIN SELECT RAISE(ABORT, 'sample is append-only'); END;
CREATE TRIGGER reading_no_update BEFORE UPDATE ON reading BEGIN SELECT RAISE(ABORT, 'reading is append-only'); END;
CREATE TRIGGER reading_no_delete BEFORE DELETE ON reading BEGIN SELECT RAISE(ABORT, 'reading is append-only'); END;
CREATE TRIGGER reading_no_replace BEFORE INSERT ON reading WHEN EXISTS (SELECT 1 FROM reading WHERE sample_id = NEW.sample_id AND fill_no = NEW.fill_no AND no = NEW.no) BEGIN SELECT RAISE(ABORT, 'reading is append-only'); END;
CREATE TRIGGER step_done_no_update BEFORE UPDATE ON step_done BEGIN SELECT RAISE(ABORT, 'step_done is append-only'); END;
CREATE TRIGGER step_done_no_delete BEFORE DELETE ON step_done BEGIN SELECT RAISE(ABORT, 'step_done is append-only'); END;
CREATE TRIGGER step_done_no_replace BEFORE INSERT ON step_done WHEN EXISTS (SELECT 1 FROM step_done WHERE sample_id = NEW.sample_id AND step_no = NEW.step_no) BEGIN SELECT RAISE(ABORT, 'step_done is append-only'); END;
CREATE TRIGGER correction_no_update BEFORE UPDATE ON correction BEGIN SELECT RAISE(ABORT, 'correction is append-only'); END;
CREATE TRIGGER correction_no_delete BEFORE DELETE ON correction BEGIN SELECT RAISE(ABORT, 'correction is append-only'); END;
CREATE TRIGGER correction_no_replace BEFORE INSERT ON correction WHEN EXISTS (SELECT 1 FROM correction WHERE id = NEW.id) BEGIN SELECT RAISE(ABORT, 'correction is append-only'); END;
CREATE TRIGGER decision_no_update BEFORE UPDATE ON decision BEGIN SELECT RAISE(ABORT, 'decision is append-only'); END;
CREATE TRIGGER decision_no_delete BEFORE DELETE ON decision BEGIN SELECT RAISE(ABORT, 'decision is append-only'); END;
CREATE TRIGGER decision_no_replace BEFORE INSERT ON decision WHEN EXISTS (SELECT 1 FROM decision WHERE id = NEW.id) BEGIN SELECT RAISE(ABORT, 'decision is append-only'); END;
CREATE TRIGGER ledger_no_update BEFORE UPDATE ON ledger BEGIN SELECT RAISE(ABORT, 'ledger is append-only'); END;
CREATE TRIGGER ledger_no_delete BEFORE DELETE ON ledger BEGIN SELECT RAISE(ABORT, 'ledger is append-only'); END;
CREATE TRIGGER ledger_no_replace BEFORE INSERT ON ledger WHEN EXISTS (SELECT 1 FROM ledger WHERE seq = NEW.seq) BEGIN SELECT RAISE(ABORT, 'ledger is append-only'); END;
COMMIT;
