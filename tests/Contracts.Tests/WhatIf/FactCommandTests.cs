using System.Runtime.CompilerServices;
using Contracts.Agreements;
using Contracts.Commands;
using Xunit;

namespace Contracts.Tests.WhatIf;

/// <summary>Every fact goes back to its command, and every command to a line, or what-if and extracts break off on the accounts that have it.</summary>
public sealed class FactCommandTests
{
    public static TheoryData<Type> Facts => [.. Nested(typeof(ContractEvent)).Where(type => !((ContractEvent)RuntimeHelpers.GetUninitializedObject(type)).IsNote)];

    public static TheoryData<Type> Commands => [.. Nested(typeof(ContractCommand))];

    [Theory]
    [MemberData(nameof(Facts))]
    public void A_fact_has_the_command_that_brings_it(Type fact) => Assert.NotNull(FactCommands.Of((ContractEvent)RuntimeHelpers.GetUninitializedObject(fact)));

    [Theory]
    [MemberData(nameof(Commands))]
    public void A_command_has_the_name_that_lines_call_it_by(Type command)
    {
        var name = CommandWriter.Name((ContractCommand)RuntimeHelpers.GetUninitializedObject(command));
        var (_, refusal) = CommandReader.Read(System.Text.Encoding.UTF8.GetBytes($$"""{"do":"{{name}}","key":"k","contract":"C-1","on":"2026-09-01"}"""));
        // It may miss fields; that there is no such command would be said otherwise.
        Assert.True(refusal is null || refusal.Code != RefusalCode.UnknownCommand, $"{command.Name}: {refusal?.Slug}");
    }

    [Theory]
    [InlineData("""{"do":"swap","key":"k","contract":"C-1","on":"2026-09-02","serial":"U-2","returnBy":"2026-09-20","damage":"d"}""")]
    [InlineData("""{"do":"report-damage","key":"k","contract":"C-1","on":"2026-09-02","description":"a dent","estimate":"45.00"}""")]
    [InlineData("""{"do":"report-damage","key":"k","contract":"C-1","on":"2026-09-02","description":"a dent"}""")]
    [InlineData("""{"do":"spend-credit","key":"k","contract":"C-1","on":"2026-09-02","amount":"15.00","sale":{"description":"a music stand","price":"40.00"}}""")]
    [InlineData("""{"do":"deliver","key":"k","contract":"C-1","on":"2026-09-02","deliveredOn":"2026-09-03"}""")]
    [InlineData("""{"do":"issue-label","key":"k","contract":"C-1","on":"2026-09-02","serial":"U-1","carrier":"post","reference":"RL-1"}""")]
    public void What_the_swap_flow_says_is_written_as_it_was_read(string line)
    {
        var (read, refusal) = CommandReader.Read(System.Text.Encoding.UTF8.GetBytes(line));
        Assert.Null(refusal);
        Assert.Equal(line, CommandWriter.Line((Command.OnContract)read!.Command).ToJsonString());
    }

    private static IEnumerable<Type> Nested(Type of) => of.GetNestedTypes().Where(type => type.IsSubclassOf(of) && !type.IsAbstract);
}
