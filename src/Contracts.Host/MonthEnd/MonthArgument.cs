using System.CommandLine;
using NodaTime;
using NodaTime.Text;

namespace Contracts.Host.MonthEnd;

/// <summary>What the commands of the month end ask for.</summary>
internal static class MonthArgument
{
    public static Argument<YearMonth> Build(string description) => new("month")
    {
        Description = description,
        CustomParser = result =>
        {
            var text = result.Tokens[0].Value;
            var parsed = YearMonthPattern.Iso.Parse(text);
            if (parsed.Success && text.Length == 7 && parsed.Value.Year is >= 1900 and <= 2200) { return parsed.Value; }
            result.AddError($"'{text}' is not a month such as 2026-09.");
            return default;
        },
    };

    public static Option<string?> Output() => new("--out") { Description = "A folder for the packet as JSON, as a workbook and as CSV files." };
}
