namespace Contracts.Tests.Support;

/// <summary>Invented law packs for Oregon: no act says what they say.</summary>
internal static class TestPack
{
    /// <summary>A pack with these rules, whose common fields are filled in.</summary>
    public static string With(params ReadOnlySpan<string> rules)
    {
        var number = 0;
        var list = new List<string>();
        foreach (var rule in rules) { list.Add($$"""{ "citation": "Test Act § {{++number}}", "verified": "read", "source": "S", {{rule}} }"""); }
        return $$"""
            { "pack": 1, "jurisdiction": "OR", "name": "Test", "act": "Test Act", "version": 9, "verified": "whole",
              "treatment": "rental-purchase-act", "rounding": "down", "openPoints": [],
              "sources": { "S": { "text": "invented", "how": "invented", "asOf": "2020", "wholeAct": true } }, "rules": [ {{string.Join(", ", list)}} ] }
            """;
    }
}
