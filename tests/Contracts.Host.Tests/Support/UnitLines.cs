using System.Text.Json.Nodes;
using Contracts.Instruments;

namespace Contracts.Host.Tests.Support;

/// <summary>Command lines about units.</summary>
internal static class UnitLines
{
    public static string Acquire(string serial, string at = "2026-08-02T12:00:00Z", string kind = "clarinet") => Line("acquire-unit", serial, at, ("kind", kind), ("condition", "new"), ("cost", "210.00"));

    /// <summary>A whole inspection; the item named fails.</summary>
    public static string Inspect(string serial, string at = "2026-08-03T12:00:00Z", string? fails = null, string? on = null)
    {
        var line = (JsonObject)JsonNode.Parse(Line("inspect-unit", serial, at, ("checklist", "band-and-orchestra.1"), ("inspector", "Ana Invented")))!;
        line["passed"] = fails is null;
        line["on"] = on ?? at[..10];
        line["results"] = new JsonArray([.. Checklist.Find("band-and-orchestra.1")!.Items.Select(item => (JsonNode)new JsonObject
        {
            ["item"] = item.Item, ["result"] = item.Item == fails ? "fails" : "good",
        })]);
        return line.ToJsonString();
    }

    /// <summary>Any command on a unit; its key says which, on which unit and when.</summary>
    public static string Line(string command, string serial, string at, params ReadOnlySpan<(string Name, string Value)> fields)
    {
        var line = new JsonObject { ["do"] = command, ["key"] = $"{command}-{serial}-{at}", ["at"] = at, ["serial"] = serial, ["on"] = at[..10] };
        foreach (var (name, value) in fields) { line[name] = value; }
        return line.ToJsonString();
    }
}
