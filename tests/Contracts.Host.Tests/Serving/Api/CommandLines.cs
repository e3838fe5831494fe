using Contracts.Host.Tests.Support;

namespace Contracts.Host.Tests.Serving.Api;

/// <summary>A readable line of every command, on a contract that nobody signed.</summary>
internal static class CommandLines
{
    private const string At = "2026-09-01T12:00:00Z";

    private static readonly Dictionary<string, string> Fields = new(StringComparer.Ordinal)
    {
        ["pay"] = "\"amount\":\"1.00\",\"method\":\"cash\"", ["buy"] = "\"amount\":\"1.00\",\"method\":\"cash\"",
        ["reverse-payment"] = "\"payment\":\"p\",\"code\":\"R01\"", ["refund"] = "\"amount\":\"1.00\"", ["credit"] = "\"amount\":\"1.00\"",
        ["swap"] = "\"serial\":\"S\",\"returnBy\":\"2026-09-30\"", ["receive-unit"] = "\"serial\":\"S\"", ["waive"] = "\"fee\":\"f\"",
        ["move"] = "\"state\":\"OR\",\"jurisdiction\":\"J\"", ["report-loss"] = "\"kind\":\"lost\"",
        ["step-up"] = "\"share\":\"1.00\",\"sale\":{\"description\":\"d\",\"price\":\"1.00\"}", ["write-off"] = "\"amount\":\"1.00\"", ["recover"] = "\"amount\":\"1.00\"",
        ["spend-credit"] = "\"amount\":\"1.00\",\"sale\":{\"description\":\"d\",\"price\":\"1.00\"}",
        ["report-damage"] = "\"description\":\"dent\"", ["issue-label"] = "\"serial\":\"S\",\"carrier\":\"post\",\"reference\":\"R\"",
        ["open-dispute"] = "\"dispute\":\"D-1\",\"claim\":\"other\",\"says\":\"s\"", ["attach-paper"] = $"\"dispute\":\"D-1\",\"title\":\"t\",\"digest\":\"{new string('0', 64)}\"",
        ["answer-dispute"] = "\"dispute\":\"D-1\",\"finding\":\"upheld\",\"says\":\"s\"", ["close-dispute"] = "\"dispute\":\"D-1\",\"outcome\":\"withdrawn\"",
        ["acquire-unit"] = "\"serial\":\"U\",\"kind\":\"cello\",\"condition\":\"new\",\"cost\":\"1.00\"",
        ["inspect-unit"] = "\"serial\":\"U\",\"checklist\":\"band-and-orchestra.1\",\"inspector\":\"i\",\"passed\":true,\"results\":[]",
        ["grade-unit"] = "\"serial\":\"U\",\"grade\":\"A\"", ["ship-unit"] = "\"serial\":\"U\",\"carrier\":\"post\",\"reference\":\"R\"", ["deliver-unit"] = "\"serial\":\"U\"",
        ["send-to-repair"] = "\"serial\":\"U\",\"description\":\"d\"", ["finish-repair"] = "\"serial\":\"U\",\"cost\":\"1.00\"",
        ["retire-unit"] = "\"serial\":\"U\",\"reason\":\"r\"", ["sell-unit"] = "\"serial\":\"U\",\"price\":\"1.00\"",
        ["report-missing"] = "\"serial\":\"U\",\"reason\":\"r\"", ["restore-unit"] = "\"serial\":\"U\",\"reason\":\"r\"",
        ["issue"] = "\"kind\":\"statement\"",
        ["exchange"] = "\"instrument\":{\"kind\":\"cello\",\"serial\":\"S\",\"condition\":\"new\"},\"accessories\":[]," + Terms,
    };

    private const string Terms =
        "\"terms\":{\"cashPrice\":\"300.00\",\"purchasePrice\":\"300.00\",\"monthlyRent\":\"30.00\",\"creditShare\":\"1.00\",\"earlyPurchase\":[{\"discount\":\"0.25\"}],\"lateFee\":{\"amount\":\"5.00\",\"graceDays\":7}}";

    public static string Of(string command) => command switch
    {
        "set-tax" => Lines.Tax,
        "sign" => Lines.Sign("C-9", "S-9"),
        "set-calendar" => Line(command, "\"shop\":\"other\",\"month\":\"2026-09\""),
        "adopt-law" => Line(command, "\"pack\":\"{}\""),
        "bill" => Line(command, "\"through\":\"2026-09-01\""),
        "close" => Line(command, "\"month\":\"2026-08\""),
        "quote" => Line(command, "\"quote\":\"Q-1\",\"on\":\"2026-09-01\",\"household\":\"H\",\"validThrough\":\"2026-09-20\",\"state\":\"OR\",\"jurisdiction\":\"J\",\"startOn\":\"2026-09-05\"," + Terms),
        "describe-household" => Line(command, "\"household\":\"H\",\"facts\":{\"name\":\"Invented\"}"),
        "pay-household" => Line(command, "\"household\":\"H\",\"on\":\"2026-09-01\",\"amount\":\"1.00\",\"method\":\"cash\""),
        "erase-household" => Line(command, "\"household\":\"H\",\"reason\":\"asked\""),
        "propose" => Line(command, "\"proposal\":\"P-1\",\"reason\":\"r\",\"change\":{\"do\":\"hold\",\"contract\":\"C-8\",\"on\":\"2026-09-01\"}"),
        "settle-entry" => Line(command, "\"entry\":\"B-1\",\"shares\":[{\"contract\":\"C-8\",\"amount\":\"1.00\"}]"),
        "set-entry-aside" => Line(command, "\"entry\":\"B-1\",\"reason\":\"r\""),
        "approve" or "decline" => Line(command, "\"proposal\":\"P-1\",\"reason\":\"r\""),
        _ => Line(command, "\"contract\":\"C-8\",\"on\":\"2026-09-01\"" + (Fields.TryGetValue(command, out var more) ? "," + more : "")),
    };

    private static string Line(string command, string fields) => $$"""{"do":"{{command}}","key":"k-{{command}}","at":"{{At}}",{{fields}}}""";
}
