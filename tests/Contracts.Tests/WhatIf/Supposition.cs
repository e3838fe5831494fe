using System.Text;
using System.Text.Json.Nodes;
using Contracts.Agreements;
using Contracts.Tests.Support;
using Contracts.WhatIf;
using NodaTime;
using NodaTime.Text;

namespace Contracts.Tests.WhatIf;

/// <summary>Questions of tests: what if, asked of a shop in memory.</summary>
internal static class Supposition
{
    public const string Contract = "C-1";

    /// <summary>Supposes what an object in the words of docs/what-if.md says, at noon of a day, with figures of that day.</summary>
    public static (WhatIfAnswer? Answer, Refusal? Refusal) Ask(InMemoryShop shop, string today, string change)
    {
        var (read, refusal) = WhatIfReader.Read(Encoding.UTF8.GetBytes(change), Contract);
        return read is null ? (null, refusal) : WhatIfAnswer.Of(Question(shop, Noon(today), Date(today)), read);
    }

    /// <summary>The same of a day of its own.</summary>
    public static WhatIfQuestion Question(InMemoryShop shop, Instant known, LocalDate on) =>
        new(shop.History(Contract).AsKnownAt(known), shop.RatesAt(known), on, known, InMemoryShop.Zone);

    /// <summary>Gives the corrections for real, at a moment; the first refusal, or null.</summary>
    public static Refusal? Apply(InMemoryShop shop, Corrections corrections, Instant at)
    {
        foreach (var command in corrections.Commands)
        {
            var line = JsonNode.Parse(WhatIfJson.Line(command))!.AsObject();
            line["at"] = InstantPattern.ExtendedIso.Format(at);
            if (shop.Apply(line.ToJsonString()) is { } refusal) { return refusal; }
        }

        return null;
    }

    public static LocalDate Date(string day) => LocalDatePattern.Iso.Parse(day).Value;

    public static Instant Noon(string day) => (Date(day) + new LocalTime(12, 0)).InZoneStrictly(InMemoryShop.Zone).ToInstant();
}
