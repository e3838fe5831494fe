"""Plants rule bugs one by one and looks whether `contracts differ` names them.

Not part of the ordinary tests: every bug is a build. Results of the unbroken rules are recorded over one store; then each
bug is planted in a copy of src/Contracts, built, put beside a copy of the executable, and held against those results. A bug
counts as named when the first cause told is at one of the kinds of event foretold for it, with the figure foretold among
those that part. The table goes to docs/tests.md.

    python3 tests/mutations/plant.py EXECUTABLE_FOLDER RESULTS [--file LIVES] [--only N]

LIVES is a command file; without it CONTRACTS_DATA (or CONTRACTS_DATABASE) names the store, as for every command. A file of generated lives:

    CONTRACTS_LIVES=400 CONTRACTS_LIVES_FILE=lives.jsonl dotnet test --project tests/Contracts.Tests -- --filter-class "*LivesFileTests*"
    contracts results --file lives.jsonl --out results.jsonl

Python 3, standard library only.
"""
import json, os, pathlib, shutil, subprocess, sys, tempfile, time

ROOT = pathlib.Path(__file__).resolve().parents[2]


# file under src/Contracts, text, replacement, kinds of event at which it may first be felt ('' = any), a figure that must part
BUGS = [
    ("Equity/EarlyPurchase.cs", "account.On < schedule.Anchor", "account.On <= schedule.Anchor", "", "earlyPurchase.price", "a discount tier ends a day late"),
    ("Equity/EarlyPurchase.cs", "account.EquityWithPastDuePaid;", "account.Equity;", "", "earlyPurchase.price", "the price counts no past-due rent as paid"),
    ("Equity/EarlyPurchase.cs", "month + schedule.Shift", "month", "released", "earlyPurchase.price", "tiers do not move with a hold"),
    ("Equity/EarlyPurchase.cs", "account.TaxOn(account.On).OnPurchase(price)", "Money.Zero", "signed", "earlyPurchase.tax", "no tax on the price to own"),
    ("Equity/EarlyPurchase.cs", "account.PastDue - account.UnappliedCredit", "account.PastDue", "", "earlyPurchase.payoff", "the payoff forgets waiting credit"),
    ("History/AccountFold.Days.cs", "GraceDays + 1)", "GraceDays + 2)", "", "pastDue", "late fee a day late"),
    ("History/AccountFold.Days.cs", "if (!runs || installment.IsPaid) { continue; }", "if (!runs) { continue; }", "", "pastDue", "a late fee also on a paid installment"),
    ("History/AccountFold.Days.cs", "case ContractEvent.PlanCancelled: planElected = false; break;", "case ContractEvent.PlanCancelled: break;", "plan_cancelled", "nextDue.amount", "cancelling the plan does nothing"),
    ("History/AccountFold.Days.cs", "case ContractEvent.PlanElected: planElected = true; break;", "case ContractEvent.PlanElected: break;", "plan_elected", "nextDue.amount", "electing the plan does nothing"),
    ("History/AccountFold.Days.cs", "schedule = schedule.ResumedOn(day);", "", "released reinstated payment_reversed", "", "a release does not move the schedule"),
    ("History/AccountFold.Facts.cs", "if (reversal.Code != EntryError)", "if (reversal.Code == EntryError)", "payment_reversed fee_charged", "", "returned-payment fee for entry errors only"),
    ("History/AccountFold.Facts.cs", "merged = credit - carried;", "merged = Money.Zero;", "payment_reversed", "posted:MerchandiseCredit given", "an exchange forgets what is not carried"),
    ("History/AccountFold.Facts.cs", "Money.Min(credit - merged, exchange.Terms.PurchasePrice)", "credit - merged", "instrument_exchanged", "", "equity carried is not limited by the new price"),
    ("History/AccountFold.Facts.cs", "unitsOut.RemoveAll(unit => unit.Serial == back.Serial);", "", "", "pastDue", "a unit brought back in time still brings its fee"),
    ("History/AccountFold.cs", "(RentCredit(pastDuePaid) - merged)", "RentCredit(pastDuePaid)", "payment_reversed", "posted:MerchandiseCredit given", "equity counts what an exchange took away"),
    ("History/AccountFold.cs", "terms[index].CreditShare.Of(rent)", "rent", "", "earlyPurchase.price", "the credit share is left out"),
    ("Payments/Allocation.cs", "if (item.TakesGoodwill && Goodwill.IsPositive)", "if (Goodwill.IsPositive)", "", "goodwillCredit", "goodwill pays rent"),
    ("Payments/Allocation.cs", "Wait(lot.IsGoodwill, Money.Zero - lot.Waiting);", "", "payment_reversed", "unappliedCredit", "a reversal leaves the waiting rest"),
    ("Payments/Allocation.cs", "lot.IsReversed = true;\n        return lot.Refunded;", "lot.IsReversed = true;\n        return Money.Zero;", "payment_reversed", "pastDue", "a refunded payment that proves void opens nothing"),
    ("Schedule/RentSchedule.cs", "Anchor, null, NextSlot + (Introductory?.Months ?? 1)", "Anchor, null, NextSlot + 1", "", "nextDue.on", "the introductory period is one month long"),
    ("Schedule/RentSchedule.cs", "< day) { months++; }", "<= day) { months++; }", "released reinstated held payment_reversed", "", "a hold moves the schedule a month too far when its day is a due date"),
    ("Schedule/RentSchedule.cs", "Money.Min(Introductory?.Payment ?? MonthlyRent, RentLeft)", "Introductory?.Payment ?? MonthlyRent", "", "", "the last rent is not cut to what is left"),
    ("Terms/TaxEntry.cs", "BearsOnRent ? Rate.Of(rent) : Money.Zero", "Rate.Of(rent)", "signed moved", "nextDue.amount", "rent is taxed where it is not"),
    ("Terms/TaxEntry.cs", "BearsOnPlan ? Rate.Of(plan) : Money.Zero", "Money.Zero", "", "nextDue.amount", "the plan is never taxed"),
    ("Terms/TaxEntry.cs", "BearsOnSale ? Rate.Of(price) : Money.Zero", "Money.Zero", "signed", "", "accessories are not taxed"),
    ("Books/ChargeRules.cs", "(ChargeKind.Late, ChargePart.Fee) => BookAccount.LateFees", "(ChargeKind.Late, ChargePart.Fee) => BookAccount.ReturnedPaymentFees", "", "posted:LateFees charged", "late fees in the books of another fee"),
    ("Books/ChargeRules.cs", "ChargePart.Rent => BookAccount.UncollectibleRent", "ChargePart.Rent => BookAccount.BadDebts", "written_off", "posted:UncollectibleRent written-off", "rent written off as a bad debt"),
    ("Books/ChargeRules.cs", "ChargeKind.Accessories or ChargeKind.Purchase => BookAccount.ReceivableSales", "ChargeKind.Accessories or ChargeKind.Purchase => BookAccount.ReceivableFees", "signed bought_early instrument_exchanged", "posted:ReceivableSales charged", "sales owed in the wrong receivable"),
]


def option(name):
    return sys.argv[sys.argv.index(name) + 1] if name in sys.argv else None


def main():
    binaries, results = pathlib.Path(sys.argv[1]), sys.argv[2]
    only = int(option("--only") or 0)
    lives = ["--file", option("--file")] if "--file" in sys.argv else []
    work = pathlib.Path(tempfile.mkdtemp(prefix="contracts-planted-"))
    for name in ("Directory.Build.props", "Directory.Packages.props", "global.json", ".editorconfig"):
        if (ROOT / name).exists(): shutil.copy(ROOT / name, work / name)
    shutil.copytree(ROOT / "src/Contracts", work / "src/Contracts", ignore=shutil.ignore_patterns("bin", "obj"))
    program = work / "program"
    shutil.copytree(binaries, program)
    missed = 0
    print("| planted | first told | contracts | figures that part there | named |\n|---|---|---|---|---|", flush=True)
    for number, (file, text, other, kinds, figure, words) in enumerate(BUGS, 1):
        if only and number != only: continue
        path = work / "src/Contracts" / file
        sound = path.read_text()
        assert sound.count(text) == 1, f"{number}: '{text}' is {sound.count(text)} times in {file}"
        path.write_text(sound.replace(text, other))
        try:
            row, named = held(work, program, [results] + lives, kinds.split(), figure)
        finally:
            path.write_text(sound)
        missed += not named
        print(f"| {words} | {row} | {'yes' if named else 'NO'} |", flush=True)
    shutil.rmtree(work)
    return missed


def held(work, program, results, kinds, figure):
    built = subprocess.run(["dotnet", "build", "src/Contracts", "-v", "q", "-clp:NoSummary", "-m:1", "-p:RunAnalyzers=false", "-p:TreatWarningsAsErrors=false"], cwd=work, capture_output=True, text=True)
    if built.returncode: return f"does not build: {built.stdout.splitlines()[0][:90] if built.stdout else ''} | | ", False
    shutil.copy(work / "src/Contracts/bin/Debug/net10.0/Contracts.dll", program / "Contracts.dll")
    run = subprocess.run([str(program / "contracts"), "differ", *results, "--format", "json"], capture_output=True, text=True)
    if run.returncode not in (0, 1): return f"exit {run.returncode}: {run.stderr[:90]} | | ", False
    told = json.loads(run.stdout)
    if told["same"]: return "all the same | 0 | ", False
    named = False
    for cause in told["causes"]:
        figures = [one["figure"] for one in cause["first"]["figures"]]
        fits = (not kinds or cause["event"] in kinds) and (not figure or figure in figures)
        if fits and not named: first, named = cause, True
    if not named: first = told["causes"][0]
    figures = [one["figure"] for one in first["first"]["figures"]]
    shown = ", ".join(figures[:4]) + (", ..." if len(figures) > 4 else "")
    return f"{first['event']}, event {first['first']['number']} of {first['first']['contract']} | {told['parted']} | {shown}", named


if __name__ == "__main__":
    sys.exit(main())
