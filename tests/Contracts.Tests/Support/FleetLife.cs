using System.Globalization;
using System.Text.Json.Nodes;
using Contracts.Agreements;
using Contracts.Instruments;
using NodaTime;
using NodaTime.Text;

namespace Contracts.Tests.Support;

/// <summary>
/// A seeded, invented half year of a few units and a few families who take them from each other: acquired late, inspected well or badly,
/// swapped, exchanged, returned, bought, lost, repaired, dated back. The same seed gives the same fleet.
/// </summary>
public sealed class FleetLife
{
    private static readonly string[] Serials = ["U-1", "U-2", "U-3", "U-4", "U-5"];
    private static readonly string[] Families = ["C-1", "C-2", "C-3", "C-4", "C-5", "C-6"];

    private readonly Random random;
    private readonly List<string> payments = [];
    private Instant now = Instant.FromUtc(2026, 8, 1, 15, 0);
    private int lines;

    private FleetLife(int seed) => random = new Random(seed);

    public InMemoryShop Shop { get; } = new() { OneContractEach = true };

    /// <summary>The commands that were accepted, by name, so that a test can see that they happen.</summary>
    public Dictionary<string, int> Accepted { get; } = [];

    /// <summary>The refusals met.</summary>
    public HashSet<RefusalCode> Refusals { get; } = [];

    /// <summary>The unit serials, kept or not: the last one is never acquired.</summary>
    public static IReadOnlyList<string> Units => Serials;

    /// <summary>The contracts that may have been signed.</summary>
    public static IReadOnlyList<string> Contracts => Families;

    public LocalDate Today => now.InZone(InMemoryShop.Zone).Date;

    public static FleetLife Generate(int seed, int steps = 110)
    {
        var life = new FleetLife(seed);
        life.Say(life.Command("set-tax", ("jurisdiction", "quay"), ("rate", "0.08"), ("from", "2020-01-01")), with => with["taxes"] = new JsonObject { ["rent"] = true, ["sale"] = true });
        for (var step = 0; step < steps; step++) { life.Step(); }
        return life;
    }

    private void Step()
    {
        now += Duration.FromHours(random.Next(0, 60));
        var on = random.Next(6) == 0 ? Today.PlusDays(-random.Next(1, 12)) : Today;
        var (unit, contract) = (Pick(Serials), Pick(Families));
        switch (random.Next(30))
        {
            case < 3: if (unit != Serials[^1]) { Say(OnUnit("acquire-unit", on, unit, ("kind", "flute"), ("condition", "new"), ("cost", Cents(random.Next(20000, 60000))))); } break;
            case < 9: Inspect(on, unit); break;
            case < 14: Sign(on, contract, unit); break;
            case < 18: Pay(on, contract); break;
            case 18: Say(On("return", on, contract)); break;
            case 19 or 20: Say(On("swap", on, contract, ("serial", unit), ("returnBy", Iso(on.PlusDays(random.Next(0, 20)))))); break;
            case 21: Say(On("receive-unit", on, contract, ("serial", unit))); break;
            case 22: Exchange(on, contract, unit); break;
            case 23: Buy(on, contract); break;
            case 24: Reinstate(on, contract, unit); break;
            case 25: Say(On("report-loss", on, contract, ("kind", "lost"))); break;
            case 26: Reverse(on, contract); break;
            case 27: Say(random.Next(2) == 0 ? OnUnit("send-to-repair", on, unit, ("description", "crack")) : OnUnit("finish-repair", on, unit, ("cost", Cents(random.Next(0, 9000))))); break;
            case 28: Say(OnUnit("restore-unit", on, unit, ("reason", "found"))); break;
            default: Leave(on, unit); break;
        }
    }

    private void Leave(LocalDate on, string unit)
    {
        switch (random.Next(4))
        {
            case 0: Say(OnUnit("retire-unit", on, unit, ("reason", "old"))); break;
            case 1: Say(OnUnit("sell-unit", on, unit, ("price", Cents(random.Next(1, 30000))))); break;
            case 2: Say(OnUnit("report-missing", on, unit, ("reason", "count"))); break;
            default:
                var holder = Families.FirstOrDefault(contract => Shop.Account(contract, on) is { Status: "signed" or "active" } account && account.Serial == unit);
                Say(OnUnit("ship-unit", on, unit, ("contract", holder ?? Pick(Families)), ("carrier", "van"), ("reference", "V")));
                break;
        }
    }

    private void Inspect(LocalDate on, string unit)
    {
        var passes = random.Next(4) > 0;
        Say(OnUnit("inspect-unit", on, unit, ("checklist", "band-and-orchestra.1"), ("inspector", "i")), command =>
        {
            command["passed"] = passes;
            command["results"] = new JsonArray([.. Checklist.Find("band-and-orchestra.1")!.Items.Select(item => (JsonNode)new JsonObject
            {
                ["item"] = item.Item, ["result"] = !passes && item.Item == "tuning" ? "fails" : "good",
            })]);
        });
    }

    private void Sign(LocalDate on, string contract, string unit)
    {
        Say(On("sign", on, contract, ("household", "H"), ("state", "OR"), ("jurisdiction", "quay"), ("startOn", Iso(on.PlusDays(random.Next(3) == 0 ? 9 : 0)))), command =>
        {
            command["instrument"] = new JsonObject { ["kind"] = "flute", ["serial"] = unit, ["condition"] = "new" };
            command["terms"] = Terms();
        });
    }

    private void Reinstate(LocalDate on, string contract, string unit)
    {
        // What is past due is paid first, or the rule about that is all that is ever seen.
        contract = Families.FirstOrDefault(one => Shop.Account(one, on) is { Status: "returned" }) ?? contract;
        if (Shop.Account(contract, on) is { PastDue.IsPositive: true } account) { Say(On("pay", on, contract, ("amount", account.PastDue.ToString()), ("method", "cash"))); }
        Say(random.Next(2) == 0 ? On("reinstate", on, contract) : On("reinstate", on, contract, ("serial", unit)));
    }

    private void Exchange(LocalDate on, string contract, string unit) => Say(On("exchange", on, contract), command =>
    {
        command["instrument"] = new JsonObject { ["kind"] = "flute", ["serial"] = unit, ["condition"] = "used" };
        command["terms"] = Terms();
    });

    private void Pay(LocalDate on, string contract)
    {
        var pay = On("pay", on, contract, ("amount", Cents(random.Next(1000, 20000))), ("method", "cash"));
        if (Say(pay) is null) { payments.Add((string)pay["key"]!); }
    }

    private void Buy(LocalDate on, string contract)
    {
        if (Shop.Account(contract, on) is not { } account) { return; }
        var buy = On("buy", on, contract, ("amount", account.EarlyPurchase.Payoff.ToString()), ("method", "card"));
        if (Say(buy) is null) { payments.Add((string)buy["key"]!); }
    }

    private void Reverse(LocalDate on, string contract)
    {
        if (payments.Count > 0) { Say(On("reverse-payment", on, contract, ("payment", Pick(payments)), ("code", "R01"), ("reason", "bank"))); }
    }

    private JsonObject Terms() => new()
    {
        ["cashPrice"] = "500.00", ["purchasePrice"] = "400.00", ["monthlyRent"] = Cents(random.Next(2000, 12000)), ["creditShare"] = "1.00",
        ["earlyPurchase"] = new JsonArray(new JsonObject { ["discount"] = "0.25" }), ["lateFee"] = new JsonObject { ["amount"] = "5.00", ["graceDays"] = 7 },
    };

    private Refusal? Say(JsonObject command, Action<JsonObject>? more = null)
    {
        more?.Invoke(command);
        var refusal = Shop.Apply(command.ToJsonString());
        if (refusal is not null) { Refusals.Add(refusal.Code); }
        else { Accepted[(string)command["do"]!] = Accepted.GetValueOrDefault((string)command["do"]!) + 1; }
        return refusal;
    }

    private JsonObject On(string name, LocalDate on, string contract, params ReadOnlySpan<(string, string)> fields)
    {
        var command = Command(name, fields);
        (command["on"], command["contract"]) = (Iso(on), contract);
        return command;
    }

    private JsonObject OnUnit(string name, LocalDate on, string serial, params ReadOnlySpan<(string, string)> fields)
    {
        var command = Command(name, fields);
        (command["on"], command["serial"]) = (Iso(on), serial);
        return command;
    }

    private JsonObject Command(string name, params ReadOnlySpan<(string Name, string Value)> fields)
    {
        var command = new JsonObject { ["do"] = name, ["key"] = $"k{++lines}", ["at"] = InstantPattern.ExtendedIso.Format(now) };
        foreach (var (field, value) in fields) { command[field] = value; }
        return command;
    }

    private T Pick<T>(IReadOnlyList<T> choices) => choices[random.Next(choices.Count)];

    private static string Cents(int cents) => new Money(cents).ToString();

    private static string Iso(LocalDate date) => date.ToString("uuuu'-'MM'-'dd", CultureInfo.InvariantCulture);
}
