using System.Globalization;
using System.Text.Json.Nodes;
using Contracts.Agreements;
using Contracts.Disclosures;
using Contracts.Instruments;
using Contracts.Tests.Reference;
using NodaTime;
using NodaTime.Text;

namespace Contracts.Tests.Support;

/// <summary>
/// Some families of a <see cref="FamilyYear"/> who hand a few units of the shop's fleet on to each other: a calendar of what will happen, lived day by day.
/// Everything in it is invented.
/// </summary>
internal sealed class SchoolStreet(int number, int seed)
{
    private const string List = "band-and-orchestra.1";

    private readonly SortedDictionary<LocalDate, Queue<Action>> calendar = [];
    private readonly Dictionary<string, List<string>> ready = [];
    private readonly HashSet<string> fleet = [];
    private Instant now;
    private int lines;
    private int serials;

    public InMemoryShop Shop { get; } = new() { OneContractEach = true };

    public Random Random { get; } = new((seed * 1_000_003) + number);

    public Dictionary<RefusalCode, int> Refusals { get; } = [];

    public LocalDate Today { get; private set; }

    /// <summary>Has something happen on a day; what would happen after the year does not.</summary>
    public void At(LocalDate day, Action what)
    {
        if (day > FamilyYear.Last) { return; }
        if (!calendar.TryGetValue(day, out var all)) { calendar[day] = all = new Queue<Action>(); }
        all.Enqueue(what);
    }

    public void Live(int families)
    {
        At(FamilyYear.First, Taxes);
        At(new LocalDate(2026, 12, 10), () => Tax("new-year", "saltmarsh", "0.0775", "2027-01-01", rent: true, plan: false, fees: true, sale: true));
        for (var unit = 0; unit < 5; unit++)
        {
            var kind = StreetKind.All[unit % 3];
            At(FamilyYear.First.PlusDays(Random.Next(1, 9)), () => Acquire(kind));
        }

        for (var family = 1; family <= families; family++)
        {
            var household = string.Create(CultureInfo.InvariantCulture, $"H-{number:000}-{family:00}");
            var contracts = Random.Next(20) switch { 0 => 3, < 4 => 2, _ => 1 };
            for (var contract = 1; contract <= contracts; contract++)
            {
                var life = new StreetLife(this, string.Create(CultureInfo.InvariantCulture, $"C-{number:000}-{family:00}-{contract}"), household);
                At(SignUp(), life.Sign);
            }
        }

        while (calendar.Count > 0)
        {
            var (day, all) = calendar.First();
            Today = day;
            now = day.At(new LocalTime(13, 0)).InUtc().ToInstant() + Duration.FromSeconds(number);
            while (all.TryDequeue(out var what)) { what(); }
            calendar.Remove(day);
        }
    }

    /// <summary>The lines of each contract beside the tax lines.</summary>
    public IEnumerable<YearContract> OfEach()
    {
        var all = Shop.Accepted.Select(line => new AcceptedCommand(line.Command, line.At, line.Sequence)).ToList();
        var taxes = all.Where(line => (string)line.Command["do"]! == "set-tax").ToList();
        return all.Where(line => line.Command["contract"] is not null && (string)line.Command["do"]! is not "ship-unit").GroupBy(line => (string)line.Command["contract"]!)
            .Select(life => new YearContract(life.Key, [.. taxes.Concat(life).OrderBy(line => line.Sequence)]));
    }

    public Account? Account(string contract, LocalDate? on = null) => Shop.Account(contract, on ?? Today);

    /// <summary>A command on a contract, recorded now; whether it was accepted.</summary>
    public bool Say(string name, string contract, string key, LocalDate on, params ReadOnlySpan<(string Name, JsonNode? Value)> fields)
    {
        var line = Line(name, key, fields);
        (line["contract"], line["on"]) = (contract, Iso(on));
        return Tell(line);
    }

    /// <summary>A unit of the fleet that may go out, or an instrument that was never acquired as a unit.</summary>
    public string Serial(string kind)
    {
        if (ready.TryGetValue(kind, out var units) && units.Count > 0)
        {
            var unit = units[0];
            units.RemoveAt(0);
            return unit;
        }

        return string.Create(CultureInfo.InvariantCulture, $"S-{number:000}-{++serials:000}");
    }

    /// <summary>What came back is looked at, mended where it has to be, and goes out again.</summary>
    public void CameBack(string serial, StreetKind kind, bool damaged = false)
    {
        if (!fleet.Contains(serial)) { return; }
        if (!damaged && Random.Next(4) > 0)
        {
            At(Today.PlusDays(2), () => Inspect(serial, kind, passes: true));
            return;
        }

        At(Today.PlusDays(1), () => Inspect(serial, kind, passes: false));
        At(Today.PlusDays(3), () => Unit("send-to-repair", serial, ("description", "a bent key (invented)")));
        At(Today.PlusDays(9), () => Unit("finish-repair", serial, ("cost", Cents(Random.Next(1200, 7000)))));
        At(Today.PlusDays(10), () => Inspect(serial, kind, passes: true));
    }

    public bool Ship(string serial, string contract) => fleet.Contains(serial)
        && Unit("ship-unit", serial, ("contract", contract), ("carrier", "the school van"), ("reference", $"VAN-{number}"))
        && Unit("deliver-unit", serial);

    public static string Cents(long cents) => new Money(cents).ToString();

    public static string Iso(LocalDate date) => LocalDatePattern.Iso.Format(date);

    private LocalDate SignUp() => Random.Next(20) switch
    {
        < 14 => new LocalDate(2026, 8, 10).PlusDays(Random.Next(0, 20) + Random.Next(0, 20)),
        < 17 => new LocalDate(2027, 1, 4).PlusDays(Random.Next(0, 25)),
        _ => new LocalDate(2026, 10, 1).PlusDays(Random.Next(0, 260)),
    };

    private void Taxes()
    {
        Tax("wexmoor", "wexmoor", "0.08", "2026-01-01", rent: true, plan: true, fees: false, sale: true);
        Tax("dunmarrow", "dunmarrow", "0.0625", "2026-01-01", rent: true, plan: false, fees: false, sale: false);
        Tax("saltmarsh", "saltmarsh", "0.075", "2026-01-01", rent: true, plan: false, fees: true, sale: true);
        Tax("kaimalu", "kaimalu", "0.045", "2026-01-01", rent: true, plan: true, fees: true, sale: true, "whole-price-at-delivery");
        Tax("alder", "alder", "0.05", "2026-01-01", rent: true, plan: false, fees: false, sale: true, "net-price-at-purchase");
    }

    private void Tax(string key, string area, string rate, string from, bool rent, bool plan, bool fees, bool sale, string? regime = null)
    {
        var line = Line("set-tax", $"tax-{key}", ("jurisdiction", area), ("rate", rate), ("from", from));
        line["taxes"] = new JsonObject { ["rent"] = rent, ["plan"] = plan, ["fees"] = fees, ["sale"] = sale };
        if (regime is not null) { line["regime"] = regime; }
        Tell(line);
    }

    private void Acquire(StreetKind kind)
    {
        var serial = string.Create(CultureInfo.InvariantCulture, $"U-{number:000}-{++serials:000}");
        if (!Unit("acquire-unit", serial, ("kind", kind.Name), ("condition", "new"), ("cost", Cents(kind.Cost)))) { return; }
        fleet.Add(serial);
        At(Today.PlusDays(1), () => Inspect(serial, kind, passes: true));
    }

    private void Inspect(string serial, StreetKind kind, bool passes)
    {
        var results = new JsonArray([.. Checklist.Find(List)!.Items.Select(item => (JsonNode)new JsonObject
        {
            ["item"] = item.Item, ["result"] = !passes && item.Item == "tuning" ? "fails" : "good",
        })]);
        if (!Unit("inspect-unit", serial, ("checklist", List), ("inspector", "the bench"), ("passed", passes), ("results", results)) || !passes) { return; }
        if (!ready.TryGetValue(kind.Name, out var units)) { ready[kind.Name] = units = []; }
        units.Add(serial);
    }

    private bool Unit(string name, string serial, params ReadOnlySpan<(string Name, JsonNode? Value)> fields)
    {
        var line = Line(name, $"{serial}-{lines}", fields);
        (line["serial"], line["on"]) = (serial, Iso(Today));
        return Tell(line);
    }

    private JsonObject Line(string name, string key, params ReadOnlySpan<(string Name, JsonNode? Value)> fields)
    {
        now += Duration.FromSeconds(41);
        lines++;
        var line = new JsonObject { ["do"] = name, ["key"] = key, ["at"] = InstantPattern.ExtendedIso.Format(now) };
        foreach (var (field, value) in fields) { line[field] = value; }
        return line;
    }

    private bool Tell(JsonObject line)
    {
        if (Shop.Apply(line.ToJsonString()) is not { } refusal) { return true; }
        Refusals[refusal.Code] = Refusals.GetValueOrDefault(refusal.Code) + 1;
        return false;
    }
}

/// <summary>A kind of instrument with its invented price.</summary>
/// <param name="Name">What it is.</param>
/// <param name="Rent">The monthly rent in cents; the price is thirty-six of them.</param>
internal sealed record StreetKind(string Name, int Rent)
{
    public static IReadOnlyList<StreetKind> All { get; } =
    [
        new("clarinet", 2700), new("flute", 2600), new("trumpet", 3150), new("violin", 2000), new("alto saxophone", 4200), new("cello", 4800), new("trombone", 3300),
    ];

    public int Price => 36 * Rent;

    /// <summary>More than half of the price, as some acts want it.</summary>
    public int Cost => Price * 11 / 20;
}
