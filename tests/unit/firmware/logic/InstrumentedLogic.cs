// Counts the IL instructions that the controller's logic really executes: a copy of its two assemblies in which every
// basic block adds its length to a counter, loaded beside the originals. Used by PassCostTests.cs.

using System.Reflection;
using System.Runtime.Loader;
using Mono.Cecil;
using Mono.Cecil.Cil;
using Mono.Cecil.Rocks;

namespace Hourhinge.Tests.Firmware.Logic;

/// <summary>Runs a static method of this test assembly against the counting copy.</summary>
internal sealed class InstrumentedLogic : AssemblyLoadContext
{
    public const string CounterType = "Hourhinge.SharedMath.InstructionCounter";

    private readonly string _folder;

    private InstrumentedLogic(string folder) => _folder = folder;

    /// <summary>Invokes a public static method without parameters; what it returns.</summary>
    public static object? Invoke(string type, string method)
    {
        string folder = Directory.CreateTempSubdirectory("hourhinge-count").FullName;
        try
        {
            Write(folder);
            var context = new InstrumentedLogic(folder);
            Assembly tests = context.LoadFromAssemblyName(typeof(InstrumentedLogic).Assembly.GetName());
            return tests.GetType(type, true)!.GetMethod(method)!.Invoke(null, null);
        }
        finally
        {
            Directory.Delete(folder, true);
        }
    }

    protected override Assembly? Load(AssemblyName name)
    {
        string path = Path.Combine(_folder, name.Name + ".dll");
        return File.Exists(path) ? LoadFromStream(new MemoryStream(File.ReadAllBytes(path))) : null;
    }

    private static void Write(string folder)
    {
        string from = AppContext.BaseDirectory;
        foreach (string path in Directory.GetFiles(from, "Hourhinge.*.dll"))
        {
            File.Copy(path, Path.Combine(folder, Path.GetFileName(path)));
        }

        using var resolver = new DefaultAssemblyResolver();
        resolver.AddSearchDirectory(from);
        resolver.AddSearchDirectory(Path.GetDirectoryName(typeof(object).Assembly.Location));
        var parameters = new ReaderParameters { AssemblyResolver = resolver };
        using ModuleDefinition math =
            ModuleDefinition.ReadModule(Path.Combine(from, "Hourhinge.SharedMath.dll"), parameters);
        using ModuleDefinition logic =
            ModuleDefinition.ReadModule(Path.Combine(from, "Hourhinge.Firmware.dll"), parameters);
        var counter = new TypeDefinition(
            "Hourhinge.SharedMath",
            "InstructionCounter",
            Mono.Cecil.TypeAttributes.Public | Mono.Cecil.TypeAttributes.Class,
            math.TypeSystem.Object);
        var count = new FieldDefinition(
            "Count", Mono.Cecil.FieldAttributes.Public | Mono.Cecil.FieldAttributes.Static, math.TypeSystem.Int64);
        counter.Fields.Add(count);
        math.Types.Add(counter);
        Instrument(math, count);
        Instrument(logic, logic.ImportReference(count));
        math.Write(Path.Combine(folder, "Hourhinge.SharedMath.dll"));
        logic.Write(Path.Combine(folder, "Hourhinge.Firmware.dll"));
    }

    private static void Instrument(ModuleDefinition module, FieldReference count)
    {
        foreach (MethodDefinition method in module.GetTypes().SelectMany(t => t.Methods).Where(m => m.HasBody))
        {
            Instrument(method.Body, count);
        }
    }

    private static void Instrument(Mono.Cecil.Cil.MethodBody body, FieldReference count)
    {
        body.SimplifyMacros();
        List<Instruction> all = [.. body.Instructions];
        var leaders = new HashSet<Instruction> { all[0] };
        foreach (Instruction i in all)
        {
            if (i.Operand is Instruction target)
            {
                leaders.Add(target);
            }
            else if (i.Operand is Instruction[] targets)
            {
                leaders.UnionWith(targets);
            }

            bool ends = i.OpCode.FlowControl is FlowControl.Branch or FlowControl.Cond_Branch or FlowControl.Return
                or FlowControl.Throw;
            if (ends && i.Next != null)
            {
                leaders.Add(i.Next);
            }
        }

        foreach (ExceptionHandler handler in body.ExceptionHandlers)
        {
            leaders.Add(handler.TryStart);
            leaders.Add(handler.HandlerStart);
        }

        ILProcessor il = body.GetILProcessor();
        for (int at = 0; at < all.Count; at++)
        {
            if (!leaders.Contains(all[at]))
            {
                continue;
            }

            int length = 1;
            while (at + length < all.Count && !leaders.Contains(all[at + length]))
            {
                length++;
            }

            // The leader's object is what branches point to: it becomes the counter's first instruction.
            Instruction leader = all[at];
            Instruction moved = il.Create(OpCodes.Nop);
            moved.OpCode = leader.OpCode;
            moved.Operand = leader.Operand;
            leader.OpCode = OpCodes.Ldsfld;
            leader.Operand = count;
            Instruction add = il.Create(OpCodes.Add);
            Instruction number = il.Create(OpCodes.Ldc_I8, (long)length);
            Instruction store = il.Create(OpCodes.Stsfld, count);
            il.InsertAfter(leader, number);
            il.InsertAfter(number, add);
            il.InsertAfter(add, store);
            il.InsertAfter(store, moved);
        }

        body.OptimizeMacros();
    }
}
