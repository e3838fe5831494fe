using System.Globalization;
using System.Text.Json.Nodes;
using Contracts.Agreements;
using Contracts.Disclosures;
using NodaTime;
using NodaTime.Text;

namespace Contracts.Tests.Support;

/// <summary>
/// A seeded, invented life of one contract: signed, paid well or badly, swapped, exchanged, held, returned, bought,
/// with a good share of commands dated back or recorded out of order. The same seed gives the same life.
/// </summary>
public sealed partial class Life
{
    private static readonly string[] HomeStates = ["NY", "HI", "OH", "OR"];
    /// <summary>Where a family may move to: also under an act by which money pays the newest payment first.</summary>
    private static readonly string[] LaterStates = ["NY", "HI", "OH", "OR", "CT"];
    private static readonly string[] Areas = ["wexmoor", "quay", "untaxed", "alder-ferry", "dunmarrow"];
    private static readonly string[] Regimes = ["each-payment", "whole-price-at-delivery", "lessor-cost", "net-price-at-purchase"];

    private static readonly string[] Methods = ["card", "card", "cash", "ach", "check", "voucher"];

    private readonly Random random;
    private readonly Random delivery;
    private readonly Random spending;
    private readonly bool spends;
    private readonly bool startsAtDelivery;
    private readonly List<string> payments = [];
    private Instant now;
    private int lines;
    private string serial = "";
    private int serials;

    private Life(int seed)
    {
        random = new Random(seed);
        // Its own chance, so that the lives that begin on a named day are what they always were.
        delivery = new Random(seed ^ 0x0de11);
        startsAtDelivery = delivery.Next(6) == 0;
        spending = new Random(seed ^ 0x5be4d);
        spends = spending.Next(8) == 0;
    }

    public InMemoryShop Shop { get; } = new();

    public string Contract { get; } = "C-1";

    public LocalDate SignedOn { get; private set; }

    public Instant LastRecorded => now;

    public Dictionary<RefusalCode, int> Refusals { get; } = [];

    public static Life Generate(int seed, int steps = 40)
    {
        var life = new Life(seed);
        life.Begin();
        for (var step = 0; step < steps; step++) { life.Step(); }
        return life;
    }

    /// <summary>A random question about this life: a day and a knowledge moment.</summary>
    public (LocalDate On, Instant Known) Question()
    {
        var day = SignedOn.PlusDays(random.Next(-3, 900));
        var last = Shop.Accepted.Count == 0 ? now : Shop.Accepted[random.Next(Shop.Accepted.Count)].At;
        return (day, random.Next(3) == 0 ? Instant.MaxValue : last);
    }

    private void Begin()
    {
        now = Instant.FromUtc(2026, 1, 1, 15, 0) + Duration.FromDays(random.Next(0, 365));
        Tax("wexmoor", "2020-01-01", "0.0725", rent: true, plan: true, fees: true, sale: true);
        Tax("quay", "2020-01-01", "0.08875", rent: true, plan: false, fees: false, sale: true);
        Tax("untaxed", "2020-01-01", "0", rent: false, plan: false, fees: false, sale: false);
        Tax("quay", Iso(Today.PlusDays(random.Next(1, 200))), "0.0925", rent: true, plan: true, fees: true, sale: false);
        TaxByRegime("alder-ferry", "2020-01-01");
        TaxByRegime("dunmarrow", "2020-01-01");
        for (var change = 0; change < 3; change++) { TaxByRegime(Pick(Areas), Iso(Today.PlusDays(random.Next(1, 400)))); }
        SignedOn = Today.PlusDays(-random.Next(0, 20));
        var sign = Command("sign", SignedOn);
        sign["household"] = "H-invented";
        var lawful = random.Next(6) > 0;
        sign["instrument"] = Instrument();
        // What these acts forbid can be signed in Oregon, whose pack has no such limits.
        sign["state"] = lawful ? Pick(HomeStates) : "OR";
        sign["jurisdiction"] = Pick(Areas);
        sign["startOn"] = Iso(SignedOn.PlusDays(random.Next(3) == 0 ? random.Next(0, 40) : 0));
        sign["terms"] = Terms(lawful);
        if (startsAtDelivery) { sign["startsAtDelivery"] = true; }
        if (lawful) { MakeCostLawful(sign); }
        sign["accessories"] = random.Next(2) == 0 ? Accessories() : new JsonArray();
        sign["planElected"] = random.Next(2) == 0;
        Say(sign);
    }

    private void Step()
    {
        now += Duration.FromHours(random.Next(0, 24 * 25));
        var on = random.Next(10) switch
        {
            0 or 1 => Today.PlusDays(-random.Next(1, 70)),
            2 => Today.PlusDays(random.Next(1, 20)),
            _ => Today,
        };
        var account = Shop.Account(Contract, on);
        if (startsAtDelivery && delivery.Next(account?.Status == "signed" ? 3 : 15) == 0)
        {
            var deliver = With(Command("deliver", on), ("reason", "the carrier's word"));
            if (delivery.Next(4) == 0) { deliver["deliveredOn"] = Iso(on.PlusDays(delivery.Next(0, 30))); }
            if (Say(deliver) is { Code: RefusalCode.DeliveryDayWrong, RightFigure: { } right } && delivery.Next(2) == 0)
            {
                Say(With(Command("deliver", LocalDatePattern.Iso.Parse(right).Value), ("reason", "the carrier's word"), ("deliveredOn", Iso(on))));
            }

            return;
        }

        LeaveOverAndSpend(on, account);
        switch (random.Next(30))
        {
            case < 12: Pay(on, account); break;
            case 12: Say(With(Command("elect-plan", on))); break;
            case 13: Say(With(Command("cancel-plan", on))); break;
            case 14 or 15: Reverse(on); break;
            case 16: Say(With(Command("refund", on), ("amount", Cents(random.Next(1, 4000))))); break;
            case 17: Say(With(Command("credit", on), ("amount", Cents(random.Next(1, 3000))), ("reason", "goodwill"))); break;
            case 18: Swap(on); break;
            case 19: Say(With(Command("receive-unit", on), ("serial", $"S-{random.Next(1, serials + 1)}"))); break;
            case 20: Exchange(on); break;
            case 21: Say(With(Command("return", on), ("condition", "good"))); break;
            case 22: Buy(on, account); break;
            case 23: Waive(on, account); break;
            case 24: Say(With(Command("move", on), ("state", Pick(LaterStates)), ("jurisdiction", Pick(Areas)))); break;
            case 25: Say(With(Command("report-loss", on), ("kind", "lost"))); break;
            case 26: Say(With(Command("hold", on), ("reason", "summer"))); break;
            case 27: Say(With(Command("release", on))); break;
            case 28: Say(With(Command("reinstate", on))); break;
            default: Rare(on); break;
        }
    }

    private void Rare(LocalDate on)
    {
        switch (random.Next(4))
        {
            case 0:
                var step = With(Command("step-up", on), ("share", "0.75"));
                step["sale"] = new JsonObject { ["description"] = "a better flute", ["price"] = "2400.00" };
                Say(step);
                break;
            case 1: Say(With(Command("write-off", on), ("amount", Cents(random.Next(1, 6000))))); break;
            case 2: Say(With(Command("recover", on), ("amount", Cents(random.Next(1, 3000))))); break;
            default:
                var bill = Command("bill", on);
                bill.Remove("on");
                bill.Remove("contract");
                bill["through"] = Iso(on);
                Say(bill);
                break;
        }
    }

    private void Pay(LocalDate on, Account? account)
    {
        var owed = account is null ? Money.Zero : account.PastDue;
        var amount = random.Next(4) switch
        {
            0 => Cents(random.Next(1, 20000)),
            1 when account?.NextDue is { } next => next.Amount.ToString(),
            _ => owed.IsPositive ? owed.ToString() : Cents(random.Next(500, 6000)),
        };
        var pay = With(Command("pay", on), ("amount", amount), ("method", Pick(Methods)));
        if (Say(pay) is null) { payments.Add((string)pay["key"]!); }
    }

    private void Reverse(LocalDate on)
    {
        if (payments.Count == 0) { return; }
        var code = random.Next(2) == 0 ? "R01" : "entry-error";
        Say(With(Command("reverse-payment", on), ("payment", Pick(payments)), ("code", code), ("reason", "bank")));
    }

    private void Swap(LocalDate on)
    {
        var swap = With(Command("swap", on), ("serial", NextSerial()), ("returnBy", Iso(on.PlusDays(random.Next(0, 20)))));
        Say(swap);
    }

    private void Exchange(LocalDate on)
    {
        var exchange = Command("exchange", on);
        exchange["instrument"] = Instrument();
        var lawful = random.Next(6) > 0;
        exchange["terms"] = Terms(lawful);
        if (lawful) { MakeCostLawful(exchange); }
        exchange["accessories"] = random.Next(3) == 0 ? Accessories() : new JsonArray();
        Say(exchange);
    }

    private void Buy(LocalDate on, Account? account)
    {
        if (account is null || random.Next(2) == 0) { return; }
        var buy = With(Command("buy", on), ("amount", account.EarlyPurchase.Payoff.ToString()), ("method", "card"));
        if (Say(buy) is null) { payments.Add((string)buy["key"]!); }
    }

    private void Waive(LocalDate on, Account? account)
    {
        var fee = account?.OpenItems.FirstOrDefault(item => item.Part == "fee");
        if (fee is not null) { Say(With(Command("waive", on), ("fee", fee.Id), ("reason", "kindness"))); }
    }

    private LocalDate Today => now.InZone(InMemoryShop.Zone).Date;

    private void Tax(string area, string from, string rate, bool rent, bool plan, bool fees, bool sale,
        string? regime = null, JsonArray? parts = null)
    {
        var tax = Command("set-tax", Today);
        tax.Remove("on");
        tax.Remove("contract");
        tax["jurisdiction"] = area;
        tax["rate"] = rate;
        tax["from"] = from;
        tax["taxes"] = new JsonObject { ["rent"] = rent, ["plan"] = plan, ["fees"] = fees, ["sale"] = sale };
        if (regime is not null) { tax["regime"] = regime; }
        if (parts is not null) { tax["parts"] = parts; }
        Say(tax);
    }

    /// <summary>An entry of any regime, half of them the one that needs the most rules, with or without parts.</summary>
    private void TaxByRegime(string area, string from)
    {
        JsonArray? parts = random.Next(2) == 0 ? null :
        [
            new JsonObject { ["authority"] = "the state", ["rate"] = "0.06" },
            new JsonObject { ["authority"] = $"{area} county", ["rate"] = "0.0125" },
            new JsonObject { ["authority"] = "a district", ["rate"] = "0.01" },
        ];
        var regime = random.Next(2) == 0 ? "whole-price-at-delivery" : Pick(Regimes);
        Tax(area, from, parts is null ? Pick(new[] { "0.0625", "0.0825", "0" }) : "0.0825",
            random.Next(5) > 0, random.Next(2) == 0, random.Next(2) == 0, random.Next(3) > 0, regime, parts);
    }

    private Refusal? Say(JsonObject command)
    {
        var refusal = Shop.Apply(command.ToJsonString());
        if (refusal is not null) { Refusals[refusal.Code] = Refusals.GetValueOrDefault(refusal.Code) + 1; }
        return refusal;
    }

    private JsonObject Command(string name, LocalDate on) => new()
    {
        ["do"] = name,
        ["key"] = $"k{++lines}",
        ["at"] = InstantPattern.ExtendedIso.Format(now),
        ["contract"] = Contract,
        ["on"] = Iso(on),
    };

    private static JsonObject With(JsonObject command, params ReadOnlySpan<(string Name, string Value)> fields)
    {
        foreach (var (name, value) in fields) { command[name] = value; }
        return command;
    }

    private string NextSerial() => serial = $"S-{++serials}";

    private JsonObject Instrument()
    {
        var instrument = new JsonObject { ["kind"] = "clarinet", ["serial"] = NextSerial(), ["condition"] = random.Next(3) == 0 ? "used" : "new" };
        if (random.Next(5) > 0) { instrument["cost"] = Cents(random.Next(1000, 90000)); }
        return instrument;
    }

    private JsonArray Accessories() =>
        [new JsonObject { ["description"] = "stand", ["price"] = Cents(random.Next(100, 9000)) }];

    /// <summary>Half the cash price and more, so that no limit on a multiple of the cost is broken.</summary>
    private void MakeCostLawful(JsonObject command)
    {
        if (command["instrument"]!["cost"] is null) { return; }
        var cash = Money.Parse(command["terms"]!["cashPrice"]!.GetValue<string>()).Cents;
        command["instrument"]!["cost"] = Cents((int)((cash + 1) / 2) + random.Next(0, 20000));
    }

    private JsonObject Terms(bool lawful)
    {
        var price = random.Next(3000, 150000);
        var share = Pick(new[] { "1.00", "1.00", "0.50", "0.85" });
        var terms = new JsonObject
        {
            // A total of at most twice the cash price: at half the credit the total is twice the purchase price.
            ["cashPrice"] = Cents(price + random.Next(lawful ? 1 : -2000, 20000)),
            ["purchasePrice"] = Cents(price),
            ["introductory"] = new JsonObject { ["months"] = random.Next(0, 4), ["payment"] = Cents(random.Next(0, 6000)) },
            ["monthlyRent"] = Cents(random.Next(1500, 9000)),
            ["creditShare"] = share,
            ["earlyPurchase"] = new JsonArray(
                new JsonObject { ["throughMonth"] = 3, ["discount"] = "0.40" },
                new JsonObject { ["throughMonth"] = random.Next(4, 15), ["discount"] = "0.30" },
                new JsonObject { ["discount"] = "0.25" }),
            ["plan"] = new JsonObject { ["monthly"] = Cents(random.Next(0, 1200)), ["chargedInIntroductory"] = random.Next(2) == 0 },
            ["lateFee"] = new JsonObject { ["amount"] = Cents(random.Next(3) * 250), ["graceDays"] = random.Next(lawful ? 7 : 0, 12) },
            ["returnedPaymentFee"] = Cents(random.Next(2) * 1500),
        };
        return terms;
    }

    private T Pick<T>(IReadOnlyList<T> choices) => choices[random.Next(choices.Count)];

    private static string Cents(int cents) => new Money(cents).ToString();

    private static string Iso(LocalDate date) => date.ToString("uuuu'-'MM'-'dd", CultureInfo.InvariantCulture);
}
