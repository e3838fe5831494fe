using System.Reflection;
using System.Text.RegularExpressions;
using Xunit;

namespace Contracts.Host.Tests.Questions;

/// <summary>Every question of every user is answered by a test on the surfaces its row names, or its row says that nothing answers it yet.</summary>
public sealed class QuestionTableTests
{
    public static TheoryData<string, Type> Users => new()
    {
        { "compliance", typeof(ComplianceQuestions) }, { "support", typeof(SupportQuestions) }, { "finance", typeof(FinanceQuestions) },
        { "developer", typeof(DeveloperQuestions) },
    };

    [Theory]
    [MemberData(nameof(Users))]
    public void Ten_questions_have_a_row_and_each_a_test_or_the_words_not_yet_three_times(string user, Type tests)
    {
        var rows = QuestionTable.Read().Where(row => row.User == user).ToList();
        Assert.Equal(Enumerable.Range(1, 10), rows.Select(row => row.Number));
        var asked = tests.GetMethods().Where(method => method.GetCustomAttribute<FactAttribute>() is not null)
            .Select(method => int.Parse(Regex.Match(method.Name, "^Question_([0-9]+)_").Groups[1].Value, System.Globalization.CultureInfo.InvariantCulture));
        Assert.Equal(rows.Where(row => row.Answered != Surfaces.Nowhere).Select(row => row.Number), asked.Order());
    }

    [Fact]
    public void Nobody_else_is_in_the_table() => Assert.Equal(40, QuestionTable.Read().Count);
}
