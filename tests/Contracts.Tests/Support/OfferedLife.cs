using System.Globalization;
using System.Text;
using System.Text.Json.Nodes;
using Contracts.Agreements;
using Contracts.Commands;
using Contracts.Quotes;
using NodaTime;
using NodaTime.Text;
using Xunit;

namespace Contracts.Tests.Support;

/// <summary>A seeded, invented offer, its quote, and a shop in which a family signs it and pays everything on its day.</summary>
public sealed class OfferedLife
{
    private static readonly string[] Areas = ["wexmoor", "quay", "untaxed", "alder-ferry"];
    private static readonly string[] States = ["NY", "HI", "OH", "OR"];
    private static readonly string[] Regimes = ["each-payment", "whole-price-at-delivery", "lessor-cost", "net-price-at-purchase"];

    private readonly Random random;
    private int keys;

    private OfferedLife(int seed)
    {
        random = new Random(seed);
        var start = new LocalDate(2026, 1, 1).PlusDays(random.Next(365));
        foreach (var area in Areas)
        {
            SetTax(area, new LocalDate(2020, 1, 1));
            SetTax(area, start.PlusDays(random.Next(1, 300)));
        }

        Asked = new JsonObject
        {
            ["state"] = Pick(States), ["jurisdiction"] = Pick(Areas), ["startOn"] = Iso(start), ["terms"] = Terms(),
            ["planElected"] = random.Next(2) == 0,
            ["accessories"] = random.Next(2) == 0 ? [] : new JsonArray(new JsonObject { ["description"] = "stand", ["price"] = Cents(random.Next(100, 9000)) }),
        };
        var (offer, refusal) = QuoteReader.Read(Encoding.UTF8.GetBytes(Asked.ToJsonString()));
        Assert.True(offer is not null, refusal?.Detail);
        Assert.Null(QuoteMaker.Fault(offer, Shop.RatesAt(Instant.MaxValue)));
        Quote = QuoteMaker.Make(offer, Shop.RatesAt(Instant.MaxValue));
    }

    public InMemoryShop Shop { get; } = new();

    /// <summary>The quote's file.</summary>
    public JsonObject Asked { get; }

    public Quote Quote { get; }

    public static OfferedLife Generate(int seed) => new(seed);

    /// <summary>Signs on the start date and pays each installment on its day, up to and including a day.</summary>
    public void SignAndPay(string contract, LocalDate through)
    {
        var sign = Command("sign", contract, Quote.Offer.StartOn);
        foreach (var (name, value) in Asked) { sign[name] = value?.DeepClone(); }
        sign["household"] = "H-invented";
        sign["instrument"] = new JsonObject { ["kind"] = "clarinet", ["serial"] = $"S-{contract}", ["condition"] = "new" };
        Say(sign);
        foreach (var (index, installment) in Quote.Installments.Index())
        {
            if (installment.DueOn > through) { break; }
            var due = installment.Rent + installment.Plan + installment.Tax + (index == 0 ? Quote.Accessories.Total : Money.Zero);
            if (due.IsPositive) { Say(Command("pay", contract, installment.DueOn, ("amount", due.ToString()), ("method", "card"))); }
        }
    }

    public void Say(JsonObject command)
    {
        var refusal = Shop.Apply(command.ToJsonString());
        Assert.True(refusal is null, $"{command.ToJsonString()}: {refusal?.Detail}");
    }

    public JsonObject Command(string name, string contract, LocalDate on, params ReadOnlySpan<(string Name, string Value)> fields)
    {
        var command = new JsonObject
        {
            ["do"] = name, ["key"] = $"k{++keys}", ["contract"] = contract, ["on"] = Iso(on),
            ["at"] = InstantPattern.ExtendedIso.Format((on + new LocalTime(12, 0)).InZoneStrictly(InMemoryShop.Zone).ToInstant()),
        };
        foreach (var (field, value) in fields) { command[field] = value; }
        return command;
    }

    private void SetTax(string area, LocalDate from) => Say(new JsonObject
    {
        ["do"] = "set-tax", ["key"] = $"k{++keys}", ["at"] = "2019-12-01T12:00:00Z", ["jurisdiction"] = area,
        ["rate"] = Pick(["0.0725", "0.08875", "0"]), ["from"] = Iso(from), ["regime"] = Pick(Regimes),
        ["taxes"] = new JsonObject { ["rent"] = random.Next(4) > 0, ["plan"] = random.Next(2) == 0, ["fees"] = true, ["sale"] = random.Next(3) > 0 },
    });

    private JsonObject Terms()
    {
        var price = random.Next(3000, 150000);
        return new JsonObject
        {
            ["cashPrice"] = Cents(price + random.Next(1, 20000)),
            ["purchasePrice"] = Cents(price),
            ["introductory"] = new JsonObject { ["months"] = random.Next(0, 4), ["payment"] = Cents(random.Next(3) == 0 ? 0 : random.Next(0, 6000)) },
            ["monthlyRent"] = Cents(random.Next(2500, 9000)),
            ["creditShare"] = Pick(["1.00", "1.00", "0.50", "0.85"]),
            ["earlyPurchase"] = new JsonArray(
                new JsonObject { ["throughMonth"] = 3, ["discount"] = "0.40" },
                new JsonObject { ["throughMonth"] = random.Next(4, 15), ["discount"] = "0.30" },
                new JsonObject { ["discount"] = "0.25" }),
            ["plan"] = new JsonObject { ["monthly"] = Cents(random.Next(0, 1200)), ["chargedInIntroductory"] = random.Next(2) == 0 },
            ["lateFee"] = new JsonObject { ["amount"] = "5.00", ["graceDays"] = random.Next(7, 10) },
        };
    }

    private string Pick(string[] choices) => choices[random.Next(choices.Length)];

    private static string Cents(int cents) => new Money(cents).ToString();

    private static string Iso(LocalDate day) => day.ToString("uuuu'-'MM'-'dd", CultureInfo.InvariantCulture);
}
