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
        Golden.Same($"fixtures/law/{code}.txt", Text(LawBook.SuppliedFor(code)!));
    }

    /// <summary>No act that was read has a rule of these kinds that a pack of its own would show: an invented one does.</summary>
    [Fact]
    public void Kinds_that_no_supplied_pack_has_are_tried_on_an_invented_one()
    {
        var (pack, _) = LawPackReader.Read(Encoding.UTF8.GetBytes(TestPack.With(
            """ "kind": "minimum-credit-share", "share": "1/2" """, """ "kind": "allocation", "order": "oldest-first" """,
            """ "kind": "loss-cap", "lesserOf": ["remaining-rent", "cost-of-repair"] """)), "invented");
        Golden.Same("fixtures/law/invented.txt", Text(pack!));
    }

    private static string Text(LawPack pack)
    {
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

        return text.ToString();
    }
}
