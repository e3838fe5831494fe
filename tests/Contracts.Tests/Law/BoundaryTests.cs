using System.Globalization;
using System.Text;
using Contracts.Law;
using Contracts.Tests.Support;
using Xunit;

namespace Contracts.Tests.Law;

/// <summary>One file for each pack under fixtures/law: every rule with its section and what happens around its limit.</summary>
public sealed class BoundaryTests
{
    public static TheoryData<string> Jurisdictions => [.. LawBook.Jurisdictions];

    [Theory]
    [MemberData(nameof(Jurisdictions))]
    public void Around_each_limit_it_is_as_was_read_and_found_right(string code)
    {
        var pack = LawBook.SuppliedFor(code)!;
        var cases = BoundaryCases.Of(pack).ToLookup(found => found.Rule, found => found.Line);
        var text = new StringBuilder()
            .Append(CultureInfo.InvariantCulture, $"{pack.Reference}  {pack.Act}  ({pack.Verified.Word()})\n")
            .Append("Invented agreement: cost 450.00, cash price 855.00, 36 payments of 39.00, retail value 900.00, signed 2026-01-05.\n");
        for (var index = 0; index < pack.Rules.Length; index++)
        {
            var rule = pack.Rules[index];
            Assert.NotEmpty(rule.Citation);
            Assert.NotEmpty(cases[index]);
            text.Append(CultureInfo.InvariantCulture, $"\n{rule.Kind}  {rule.Citation}  ({rule.Head.Verified.Word()})\n");
            foreach (var line in cases[index]) { text.Append(CultureInfo.InvariantCulture, $"  {line}\n"); }
        }

        Golden.Same($"fixtures/law/{code}.txt", text.ToString());
    }
}
