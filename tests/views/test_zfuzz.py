import traceback, collections
from tests.views.screens import *
NASTY = ["", " ", "0", "-1", "NaN", "inf", "-Infinity", "1e400", "9"*400, "999999999", "99999999.999999","0.0000001", "1/0", "12 @", "12 @ 2x6x16", "35 bananas", "35 gal", "5 ft", "101", "100.00001",
 "2026-02-30", "yesterday", "0001-01-01", "99999-01-01", "2026-1-1", "a\x00b", "a\x01b", "a\x7fb", "\u202eabc", "🏠"*30, "x"*10000, "é́"*50, "\ufffe", "<b>&\"'", "=1+1", "%", "'", "\\", "١٢٣", "１２", "²", "1,2,3", "--1", "+5", "$5", "5 %", "10**9", "None", "null", "[]", "1000000000000000000000000000000", "2200-01-01", "99999999 piece", "99999999 mi", "1 square", "a = b", "Wall = 5 sq ft\nwall = 6 sq ft", "2026-01-01 = 5\n2026-01-01 = 6", "Floor area = 5 sq ft", "1234567 min", "0000001:30"]
def test_fuzz(clients, build, records, entries):
    s = Screens(clients["owner"], build.pk)
    r = records
    forms = {
     ("build_edit",): {},
     ("element_add",): {"code":"Q1"}, ("element_edit", r["element"].pk): {},
     ("component_add",): {"name":"N","unit":"piece"}, ("component_edit", r["component"].pk): {},
     ("price_add",): {"component": "Board","price":"3"}, ("price_edit", r["price"].pk): {},
     ("supplier_add",): {"name":"S9"}, ("supplier_edit", r["supplier"].pk): {},
     ("purchase_add",): {"number":"P9","lines-0-component":"Board","lines-0-quantity_text":"2 pieces","lines-0-source":"salvage","lines-0-unit_price":"3","charges-0-kind":"haulage","charges-0-amount":"5"},
     ("purchase_add",1): {"number":"P9","lot_price_amount":"50","lines-0-component":"Board","lines-0-quantity_text":"2 pieces","lines-0-source":"salvage","charges-0-kind":"haulage","charges-0-distance_text":"5 mi"},
     ("purchase_edit", r["purchase"].pk): {},
     ("conversion_add",): {"number":"C9","source":"Board","used_text":"1 piece","outputs-0-component":"Stud","outputs-0-made_text":"1 piece"},
     ("conversion_edit", r["conversion"].pk): {},
     ("left_over_add",): {"component":"Board","quantity_text":"1 piece","fate":"sold","proceeds_amount":"3"},
     ("left_over_edit", r["left-over"].pk): {},
     ("task_add",): {"name":"T9"}, ("task_edit", r["task"].pk): {},
     ("labour_add",): {"person":"Ann","hours":"3","kind":"sourcing"}, ("labour_edit", r["labour"].pk): {},
    }
    from django.db import transaction
    count=collections.Counter()
    for (name,*args), typed in forms.items():
        if name=="purchase_add": args=[]
        url = s.url(name,*args)
        base = s.filled(s.read(url).form, typed)
        for f in [*base]:
            if f.endswith("csrfmiddlewaretoken"): continue
            for v in NASTY:
                sid = transaction.savepoint()
                try:
                    a = s.client.post(url, base | {f: v})
                    count[a.status_code]+=1
                    if a.status_code not in (302,422): print("STATUS", a.status_code, name, f, repr(v)[:50])
                    if a.status_code==422:
                        p=Page(a.content.decode())
                        if not p.faults: print("NO FAULT", name, f, repr(v)[:50])
                        for t in p.faults:
                            if not t.endswith((".","?")): print("NOT SENTENCE", name, f, repr(v)[:40], repr(t)[:150])
                        if p.form.fields.get(f)!=v and f in p.form.fields and f not in p.form.choices: print("NOT KEPT", name, f, repr(v)[:40], repr(p.form.fields.get(f))[:50])
                    if a.status_code==302:
                        for u in (s.url("cost_sheet"), s.url("history"), s.url("download")):
                            try:
                                q=s.client.get(u); assert q.status_code==200
                                b"".join(q) if q.streaming else 0
                            except Exception as e:
                                print("AFTER", u, name, f, repr(v)[:50], type(e).__name__, str(e)[:100])
                        print("TAKEN", name, f, repr(v)[:50])
                except Exception as e:
                    tb=traceback.extract_tb(e.__traceback__)[-1]
                    print("500", name, f, repr(v)[:50], type(e).__name__, str(e)[:100], [f"{t.filename.split('/')[-1]}:{t.lineno}" for t in traceback.extract_tb(e.__traceback__) if "materials" in t.filename][-3:])
                transaction.savepoint_rollback(sid)
    print(count)
    assert 0
