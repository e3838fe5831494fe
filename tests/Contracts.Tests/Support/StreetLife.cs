using System.Text.Json.Nodes;
using Contracts.Agreements;
using NodaTime;

namespace Contracts.Tests.Support;

/// <summary>One contract of a <see cref="SchoolStreet"/> from its signing to the end of the year.</summary>
internal sealed class StreetLife(SchoolStreet street, string contract, string household)
{
    private static readonly string[] States = ["OR", "OR", "OH", "OH", "NY", "HI"];
    private static readonly string[] Areas = ["wexmoor", "dunmarrow", "saltmarsh", "kaimalu", "alder"];

    private readonly Random random = street.Random;
    private readonly int habit = street.Random.Next(100);
    private StreetKind kind = StreetKind.All[0];
    private string serial = "";
    private LocalDate start;
    private int lines;
    private bool gone;

    /// <summary>The day of the signing: the family takes an instrument, pays what is due and goes home.</summary>
    public void Sign()
    {
        kind = StreetKind.All[random.Next(StreetKind.All.Count)];
        serial = street.Serial(kind.Name);
        start = street.Today.PlusDays(random.Next(5) == 0 ? random.Next(1, 12) : 0);
        var signed = Say(
            "sign", street.Today, ("household", household), ("instrument", Instrument()),
            ("state", Pick(States)), ("jurisdiction", Pick(Areas)), ("startOn", SchoolStreet.Iso(start)),
            ("terms", Terms()), ("accessories", random.Next(3) == 0 ? new JsonArray(new JsonObject { ["description"] = "stand", ["price"] = "24.00" }) : new JsonArray()),
            ("planElected", random.Next(2) == 0));
        if (!signed) { return; }
        if (random.Next(8) == 0) { street.At(street.Today.PlusDays(1), () => street.Ship(serial, contract)); }
        Pay(street.Today, 1);
        street.At(start, () => Due(0));
        Plan();
    }

    /// <summary>What will happen to it beside the payments: most families have none of it in a year.</summary>
    private void Plan()
    {
        Maybe(9, 20, 240, Swap);
        Maybe(5, 60, 250, Exchange);
        Maybe(14, 25, 300, Return);
        Maybe(7, 40, 330, Buy);
        Maybe(4, 40, 260, Hold);
        Maybe(2, 40, 300, Lose);
        Maybe(4, 40, 300, () => Say("move", street.Today.PlusDays(-random.Next(0, 9)), ("state", Pick(States)), ("jurisdiction", Pick(Areas))));
        Maybe(5, 20, 300, () => { if (!Say("elect-plan", street.Today)) { Say("cancel-plan", street.Today); } });
        Maybe(4, 30, 300, () => Say("credit", street.Today, ("amount", SchoolStreet.Cents(random.Next(300, 1500))), ("reason", "a broken stand (invented)")));
        Maybe(5, 30, 300, Dispute);
        Maybe(1, 90, 300, StepUp);
        Maybe(2, 40, 300, Refund);
    }

    private void Maybe(int percent, int from, int to, Action what)
    {
        if (random.Next(100) < percent) { street.At(street.Today.PlusDays(random.Next(from, to)), what); }
    }

    /// <summary>A due date: who pays in time does, the others when it is their habit, some in part, a few not at all.</summary>
    private void Due(int month)
    {
        if (gone || street.Account(contract) is not { } account || account.Status is "owned" or "returned" or "stepped-up" or "cancelled" or "lost") { return; }
        street.At(start.PlusMonths(month + 1), () => Due(month + 1));
        switch (habit)
        {
            case < 62: Pay(street.Today, 1); break;
            case < 80: Later(random.Next(1, 7)); break;
            case < 90: Later(random.Next(5, 25)); break;
            case < 95: PayPart(); break;
            case < 97: if (month % 2 == 0) { Pay(street.Today, 2); } break;
            default: if (month < 4) { Pay(street.Today, 1); } else if (month == 7) { GiveUp(); } break;
        }
    }

    private void Later(int days)
    {
        var day = street.Today.PlusDays(days);
        street.At(day, () => Pay(day, 1));
    }

    private void PayPart()
    {
        if (street.Account(contract) is { PastDue.IsPositive: true } account && account.PastDue.Cents > 800) { Money("pay", street.Today, account.PastDue.Cents / 2); }
        Later(11);
    }

    /// <summary>Pays what is past due on a day, more than once over for who pays ahead; one in twelve is keyed days later, one in forty comes back.</summary>
    private void Pay(LocalDate on, int times)
    {
        if (random.Next(12) == 0)
        {
            street.At(street.Today.PlusDays(random.Next(1, 6)), () => PayNow(on, times));
            return;
        }

        PayNow(on, times);
    }

    private void PayNow(LocalDate on, int times)
    {
        if (gone || street.Account(contract, on) is not { } account || (account.PastDue.Cents * times) is not (> 0 and var owed)) { return; }
        var key = Money("pay", on, owed);
        if (key is null) { return; }
        var fee = account.OpenItems.FirstOrDefault(item => item.Part == "fee");
        if (fee is not null && random.Next(5) == 0) { Say("waive", street.Today, ("fee", fee.Id), ("reason", "a first late payment")); }
        if (random.Next(40) > 0) { return; }
        var code = random.Next(5) == 0 ? "entry-error" : "R01";
        street.At(street.Today.PlusDays(random.Next(2, 6)), () =>
        {
            Say("reverse-payment", street.Today.PlusDays(-random.Next(0, 2)), ("payment", key), ("code", code), ("reason", "the bank sent it back"));
            Later(random.Next(2, 9));
        });
    }

    private string? Money(string name, LocalDate on, long cents)
    {
        var key = $"{contract}-{lines + 1}";
        var method = name == "buy" || habit < 50 ? "card" : habit < 85 ? "ach" : "cash";
        return Say(name, on, ("amount", SchoolStreet.Cents(cents)), ("method", method)) ? key : null;
    }

    private void Swap()
    {
        var (old, keyedLate) = (serial, random.Next(4) == 0 ? random.Next(1, 4) : 0);
        if (!Say("report-damage", street.Today, ("description", "a cracked tenon (invented)"), ("estimate", "45.00"))) { return; }
        var next = street.Serial(kind.Name);
        var back = street.Today.PlusDays(14);
        if (!Say("swap", street.Today.PlusDays(-keyedLate), ("serial", next), ("returnBy", SchoolStreet.Iso(back)))) { return; }
        serial = next;
        if (random.Next(8) == 0) { return; }
        street.At(street.Today.PlusDays(random.Next(0, 20)), () =>
        {
            if (Say("receive-unit", street.Today, ("serial", old))) { street.CameBack(old, kind, damaged: true); }
        });
    }

    private void Exchange()
    {
        var (old, oldKind) = (serial, kind);
        kind = StreetKind.All[random.Next(StreetKind.All.Count)];
        serial = street.Serial(kind.Name);
        if (Say("exchange", street.Today, ("instrument", Instrument()), ("terms", Terms()), ("accessories", new JsonArray())))
        {
            street.CameBack(old, oldKind);
            street.At(street.Today, () => Pay(street.Today, 1));
        }
        else { (serial, kind) = (old, oldKind); }
    }

    private void Return()
    {
        var keyedLate = random.Next(3) == 0 ? random.Next(1, 8) : 0;
        if (!Say("return", street.Today.PlusDays(-keyedLate), ("condition", "good"))) { return; }
        street.CameBack(serial, kind);
        Later(random.Next(3, 15));
        if (random.Next(7) > 0) { return; }
        street.At(street.Today.PlusDays(random.Next(20, 28)), () =>
        {
            Pay(street.Today, 1);
            var next = street.Serial(kind.Name);
            if (!Say("reinstate", street.Today, ("serial", next))) { return; }
            serial = next;
            street.At(start.PlusMonths(Period.Between(start, street.Today, PeriodUnits.Months).Months + 1), () => Due(9));
        });
    }

    private void Buy()
    {
        if (gone || street.Account(contract) is not { } account) { return; }
        if (Money("buy", street.Today, account.EarlyPurchase.Payoff.Cents) is not { } key || random.Next(12) > 0) { return; }
        street.At(street.Today.PlusDays(3), () =>
        {
            Say("reverse-payment", street.Today, ("payment", key), ("code", "R01"), ("reason", "the bank sent it back"));
            Later(5);
        });
    }

    private void Hold()
    {
        var ground = Pick(["summer", "dispute", "military-service"]);
        var held = ground == "summer"
            ? Say("hold", street.Today, ("reason", "a summer away"))
            : Say("hold", street.Today, ("reason", "as the family says"), ("ground", ground));
        if (held) { street.At(street.Today.PlusDays(random.Next(15, 70)), () => Say("release", street.Today.PlusDays(-random.Next(0, 3)), ("reason", "it is over"))); }
    }

    private void Lose()
    {
        if (!Say("report-loss", street.Today, ("kind", random.Next(3) == 0 ? "stolen" : "lost"))) { return; }
        if (random.Next(2) == 0) { Later(random.Next(1, 30)); }
        else { street.At(street.Today.PlusDays(random.Next(3, 40)), Return); }
    }

    private void Dispute()
    {
        var (day, dispute) = (street.Today, $"D-{lines}");
        if (!Say(
            "open-dispute", day, ("dispute", dispute), ("claim", Pick(["charge", "payment", "figure"])), ("says", "the amount is not what was told (invented)"))) { return; }
        street.At(day.PlusDays(2), () => Say("attach-paper", street.Today, ("dispute", dispute), ("title", "a bank statement"), ("digest", new string('a', 64))));
        street.At(day.PlusDays(random.Next(4, 12)), () => Say("answer-dispute", street.Today, ("dispute", dispute), ("finding", Pick(["upheld", "partly-upheld", "not-upheld"])), ("says", "looked at (invented)")));
        if (random.Next(4) > 0) { street.At(day.PlusDays(15), () => Say("close-dispute", street.Today, ("dispute", dispute), ("outcome", "settled"))); }
    }

    private void StepUp()
    {
        var sale = new JsonObject { ["description"] = "a better one", ["price"] = "2400.00" };
        if (!Say("step-up", street.Today, ("share", "0.75"), ("sale", sale))) { return; }
        gone = true;
        street.CameBack(serial, kind);
    }

    private void Refund()
    {
        if (Money("pay", street.Today, 2500) is not null) { street.At(street.Today.PlusDays(3), () => Say("refund", street.Today, ("amount", "5.00"))); }
    }

    /// <summary>Nothing more comes: the shop takes the instrument back and writes off what is open, and a little of it is paid after all.</summary>
    private void GiveUp()
    {
        if (!Say("return", street.Today, ("condition", "worn"))) { return; }
        street.CameBack(serial, kind, damaged: true);
        if (street.Account(contract) is not { PastDue.Cents: > 2000 } account) { return; }
        Say("write-off", street.Today, ("amount", account.PastDue.ToString()));
        street.At(street.Today.PlusDays(30), () => Say("recover", street.Today, ("amount", "10.00")));
    }

    private bool Say(string name, LocalDate on, params ReadOnlySpan<(string Name, JsonNode? Value)> fields) => street.Say(name, contract, $"{contract}-{++lines}", on, fields);

    private JsonObject Instrument() => new() { ["kind"] = kind.Name, ["serial"] = serial, ["condition"] = "new", ["cost"] = SchoolStreet.Cents(kind.Cost) };

    private JsonObject Terms()
    {
        var terms = new JsonObject
        {
            ["cashPrice"] = SchoolStreet.Cents(kind.Price), ["purchasePrice"] = SchoolStreet.Cents(kind.Price), ["monthlyRent"] = SchoolStreet.Cents(kind.Rent), ["creditShare"] = "1.00",
            ["earlyPurchase"] = new JsonArray(
                new JsonObject { ["throughMonth"] = 3, ["discount"] = "0.30" }, new JsonObject { ["throughMonth"] = 12, ["discount"] = "0.20" }, new JsonObject { ["discount"] = "0.15" }),
            ["plan"] = new JsonObject { ["monthly"] = SchoolStreet.Cents(kind.Rent / 5), ["chargedInIntroductory"] = false },
            ["lateFee"] = new JsonObject { ["amount"] = "5.00", ["graceDays"] = 7 },
            ["returnedPaymentFee"] = random.Next(4) == 0 ? "15.00" : "0.00",
        };
        if (random.Next(3) == 0) { terms["introductory"] = new JsonObject { ["months"] = 2, ["payment"] = SchoolStreet.Cents(kind.Rent) }; }
        return terms;
    }

    private string Pick(string[] choices) => choices[random.Next(choices.Length)];
}
